"""The planted stories are found by the program, and where nothing was planted it finds none.

The truth is read from the tables of the generator: which rooms, kinds and days (`true_rates.toml`), which examiner.
"""

from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any

import polars as pl
import pytest

from collection.as_of import as_known
from collection.learning.learned import starting
from collection.pipeline import assess_store
from collection.questions.damage_over_time import watched_of
from collection.questions.grades_over_time import STRICTER, ahead_sentence, examiners, grades_ahead
from collection.questions.over_time import OverTime, over_time, overstated
from collection.questions.stories_over_time import cells_standing_out, story_axis, story_sentences
from collection.questions.triage import Triage
from collection.risk.inspections import inspections
from collection.settings import as_of_day
from collection.snapshot import Collection
from collection.store import Store
from collection.trends.damage_rates import watched
from collection.trends.parameters import trends
from collection.trends.stories import ALIKE, ANSWERS_TO, cells, stories
from demo_collection.generator import simulation
from demo_collection.generator.museum import STRICT
from demo_collection.generator.tables import rates
from schemas.fields import Partial
from schemas.tables import RECORDS
from schemas.vocabularies import vocabulary

TODAY = date(2026, 9, 30)
WRITTEN = ("condition_check", "damage", "observation", "treatment")
COLUMNS = ("object_id", "check_id", "damage_id", "treatment_id", "part", "kind", "onset", "origin", "activity", "change",
           "look", "visit", "occasion", "definitions_version", "stage", "area_mm2", "length_mm", "measurement_error",
           "extent_band", "checked_on", "first_seen_on", "closed_on", "closed_by", "started_on", "finished_on")  # fmt: skip


@pytest.fixture(scope="module")
def whole(demonstration: Store) -> Triage:
    return assess_store(demonstration, lambda c: as_of_day(None, c))


@pytest.fixture(scope="module")
def hours(whole: Triage, demonstration: Store) -> pl.DataFrame:
    return demonstration.read_hours(whole.collection["location"]["location_id"].to_list(), date(2016, 1, 1), TODAY)


@pytest.fixture(scope="module")
def told(whole: Triage, hours: pl.DataFrame) -> pl.DataFrame:
    return cells_standing_out(whole, watched_of(whole, whole.objects), hours)


@pytest.fixture(scope="module")
def graded(whole: Triage) -> OverTime:
    return over_time(whole, whole.objects)


def labels(kinds: list[str]) -> set[str]:
    return {vocabulary("damage").labels()[kind].lower() for kind in kinds}


def kinds_of(told: pl.DataFrame, room: str) -> set[str]:
    listed = ";".join(told.filter(room=room)["kinds"]).split(";")
    return {words.strip().split(" ", 1)[1] for words in listed}


def test_every_story_is_a_planted_one_and_every_planted_one_is_told(told):
    planted = {room: event for event in rates()["event"].values() for room in event["rooms"]}

    assert set(told["room"]) == set(planted)
    for room, event in planted.items():
        years = told.filter(room=room)["year"]
        assert years.min() >= event["from"].year
        kinds = labels([*event.get("kinds", ()), *event.get("added", {})])
        assert kinds_of(told, room) & kinds
    assert (told["rate"] > told["elsewhere"]).all()


def test_the_damp_of_one_room_and_whom_it_hit(told):
    """Unstable painted enamels, and steel signs, whose technique nobody stated."""
    damp = told.filter(room="L2")

    assert set(damp["technique"]) == {"Painted enamel", "Enamel, technique not stated"}
    assert kinds_of(told, "L2") <= labels(rates()["event"]["l2_damp"]["kinds"])
    measured = damp.filter(pl.col("from_on").is_not_null())
    assert measured.height >= 1
    assert all(date(2022, 10, 1) <= day < date(2022, 11, 1) for day in measured["from_on"])
    assert all("up to 70 %" in words for words in measured["climate"])


def test_the_hot_fortnight_on_one_side_of_the_gallery(told):
    """Of the climate of eleven years the worst stretch is the planted one, to the day."""
    event = rates()["event"]["gallery_heat"]
    row = told.filter(room="GW").row(0, named=True)

    assert (row["from_on"], row["until_on"]) == (event["from"], date(2024, 7, 28))
    assert row["year"] == event["from"].year
    assert "up to 36 °C" in row["climate"]
    assert "lifting" in row["kinds"]


def test_how_many_cells_were_tested_is_said(whole, told):
    its = watched_of(whole, whole.objects)
    words = story_sentences(its, told)

    assert words[0].startswith(
        f"{its.tested.height} cells of room, year, technique and kinds of damage were tested; {told.height} stand out"
    )
    assert len(words) == told.height + 1


def test_damage_place_and_climate_of_each_story_stand_on_one_axis(whole, told, hours):
    axis = story_axis(whole, watched_of(whole, whole.objects), told, hours)

    lanes = axis.group_by("room").agg(pl.col("lane").unique())
    assert {room: len(names) for room, names in lanes.rows()} == {"GW": 3, "L2": 3}
    warm = axis.filter(room="GW").drop_nulls("share").filter(pl.col("share") > 0)
    assert warm["on"].to_list() == [date(2024, 7, 1)]


def test_the_strict_examiner_by_limits_that_leave_out_0(graded):
    rows = examiners(graded)

    strict = rows.filter(what=STRICTER)
    assert strict["examiner"].to_list() == [STRICT]
    assert strict["strictness_low"].item() > 0
    assert overstated(graded) > 1.2  # what was written is worse than what is left after allowing for it


def test_todays_grades_some_years_ahead_by_the_decline_that_is_left(graded):
    """More objects of each grade or worse than now, within limits; the worst alone are fewest."""
    rows = grades_ahead(graded)

    assert rows["label"].to_list() == ["Poor", "Fair"]  # the step to the worst is too rare to be told
    assert (rows["now"] < rows["ahead"]).all()
    assert (rows["ahead_low"] <= rows["ahead"]).all()
    assert (rows["ahead"] <= rows["ahead_high"]).all()
    assert rows["ahead"].is_sorted()
    assert "fair or worse in 5 years" in ahead_sentence(graded)


@pytest.fixture
def nothing_planted() -> Iterator[None]:
    """The generator with its events taken out."""
    events: dict[str, Any] = rates()["event"]
    before = dict(events)
    events.clear()
    yield
    events.update(before)


def other_years(of: Collection, years: int) -> Collection:
    """The same museum in other years: what was found in them, for the checks and the damage alone."""
    given: dict[str, Any] = rates()  # type: ignore[assignment]
    before, given["years"] = given["years"], years
    try:
        rows = simulation.simulate.__wrapped__().rows
    finally:
        given["years"] = before
    frames = {name: _frame(name, rows[name]) for name in WRITTEN}
    return as_known(
        Collection.of({"object": of["object"], "location": of["location"], "move": of["move"], **frames}), TODAY
    )


def _frame(record: str, rows: list[Mapping[str, Any]]) -> pl.DataFrame:
    partial = {column.name for column in RECORDS[record].marked(Partial)}
    schema = RECORDS[record].schema()
    names = [n for n in rows[0] if n in COLUMNS]
    columns: dict[str, Any] = {}
    for name in names:
        values = [None if row[name] == "" else row[name] for row in rows]
        if name in partial:
            columns |= {f"{name}_{end}": pl.Series(values, dtype=pl.Date) for end in ("earliest", "latest")}
        else:
            columns[name] = pl.Series(values, dtype=schema[name], strict=False)
    return pl.DataFrame(columns)


def standing_out(collection: Collection) -> pl.DataFrame:
    table = starting(collection)
    rows = watched(collection, inspections(collection), table)
    return stories(cells(rows, table), trends(), ANSWERS_TO, ALIKE).filter("stands_out")


def more(collection: Collection) -> set[tuple[str, int]]:
    """Rooms and years in which more happened than chance explains."""
    rows = standing_out(collection).filter(pl.col("rate") > pl.col("elsewhere"))
    return set(rows.select("room", "year").rows())


@pytest.mark.usefixtures("nothing_planted")
def test_where_nothing_was_planted_no_story_is_told(whole):
    """The same eleven years without the two events; of six others one at most has a story by chance."""
    assert more(other_years(whole.collection, rates()["years"])) == set()
    assert sum(bool(more(other_years(whole.collection, years))) for years in range(1, 7)) <= 1


def test_where_it_was_planted_it_is_told_in_other_years_too(whole):
    """Of six museums with the two events, the hot fortnight is told in four at least."""
    told = [more(other_years(whole.collection, years)) for years in range(1, 7)]

    assert sum(("GW", 2024) in its for its in told) >= 4
