"""Three counts and their rates: the worked case of intervals, exposure parted at moves, years, kinds and cells."""

from datetime import date

import polars as pl
import pytest

from collection.as_of import as_known
from collection.learning.learned import starting
from collection.risk.inspections import inspections
from collection.snapshot import Collection
from collection.trends.damage_rates import (
    ACTIVATION,
    KIND,
    LOSS,
    NEW,
    ROOM,
    SEVERAL,
    TECHNIQUE,
    YEAR,
    by_room,
    damage_rates,
    stays,
    technique_groups,
    watched,
)  # fmt: skip
from collection.trends.parameters import trends
from collection.trends.stories import ANSWERS_TO, cell_kinds, cells, stories
from tests.collection.learning.builders import one_damage
from tests.collection.risk.builders import check, register

DAY = date(2030, 1, 1)
TREATED = {"treatment_id": "T", "object_id": "O", "started_on": date(2020, 1, 15), "finished_on": date(2020, 1, 15)}
PLACES = [
    {"location_id": "R1", "kind": "room"}, {"location_id": "S1", "kind": "shelf", "within": "R1"},
    {"location_id": "R2", "kind": "room"}, {"location_id": "OUT", "kind": "on_loan"},
]  # fmt: skip
MOVE = {"move_id": "M", "object_id": "O", "moved_on": date(2013, 1, 1), "moved_from": "S1", "moved_to": "R2"}


def rows_of(collection: Collection) -> pl.DataFrame:
    known = as_known(collection, DAY)
    return watched(known, inspections(known), starting(known))


def worked(*, with_2020: bool = True) -> Collection:
    lines = [
        {"on": "2015-01-01", "activity": "stable"},
        {"on": "2017-01-01", "activity": "stable", "change": "unchanged"},
        {"on": "2018-01-01", "look": "sweep", "no_line": True},
        *([{"on": "2020-01-01", "activity": "active", "change": "unchanged"}] if with_2020 else []),
        {"on": "2021-01-01", "activity": "stable"},
    ]
    return one_damage(*lines, treatment=[TREATED])


def test_worked_case_of_intervals():
    """731 and 1,095 days at rest are 4.999316 years: 0 losses, 1 activation; nothing over the treatment."""
    rates = damage_rates(rows_of(worked()), KIND, trends())

    assert rates.filter(count=LOSS).select("group", "events").rows() == [("lifting", 0)]
    assert rates.filter(count=LOSS)["years"].item() == pytest.approx(4.999316, abs=5e-7)
    assert rates.filter(count=ACTIVATION).select("events", "objects").rows() == [(1, 1)]


def test_without_the_check_of_2020_there_are_two_years_and_nothing_else():
    rates = damage_rates(rows_of(worked(with_2020=False)), KIND, trends())

    assert rates.filter(pl.col("count") != NEW).select("count", "events").rows() == [(ACTIVATION, 0), (LOSS, 0)]
    assert rates.filter(count=LOSS)["years"].item() == pytest.approx(2.001369, abs=5e-7)


def test_a_span_belongs_to_the_year_of_its_later_check():
    rates = damage_rates(rows_of(worked()), YEAR, trends()).filter(count=ACTIVATION)

    assert rates.select("group", "events").rows() == [("2017", 0), ("2020", 1)]
    assert rates["years"].to_list() == pytest.approx([731 / 365.25, 1095 / 365.25])


def test_rates_are_per_100_years_with_exact_limits():
    """1 in 2.998 years: 33.36 per 100 (0.8445 to 185.85), from the limits 0.025318 and 5.571643 of a count of 1."""
    row = damage_rates(rows_of(worked()), YEAR, trends()).filter(count=ACTIVATION, group="2020").row(0, named=True)
    years = 1095 / 365.25

    assert row["rate"] == pytest.approx(100 / years)
    assert (row["low"], row["high"]) == pytest.approx((2.5318 / years, 557.1643 / years), rel=1e-4)


def moved(*moves: dict, **more: object) -> Collection:
    checks = [check("C1", "O", "2012-01-01"), check("C2", "O", "2016-01-01")]
    damage = {"damage_id": "D", "object_id": "O", "part": "whole", "kind": "chip", "onset": "since_last_look"}
    line = {"check_id": "C2", "damage_id": "D", "activity": "stable"}
    return register(
        object=[{"object_id": "O", "location_id": "R2", "technique": ["champleve"]} | more], location=PLACES,
        condition_check=checks, damage=[damage], observation=[line], move=list(moves),
    )  # fmt: skip


def test_exposure_is_parted_at_a_move_and_the_event_counts_where_it_was_longest():
    """2012 to 2016, moved on 1 January 2013: 366 days in one room, 1,095 in the other."""
    rates = damage_rates(rows_of(moved(MOVE)), ROOM, trends())

    assert rates.select("group", "events").rows() == [("R2", 1), ("R1", 0)]
    assert rates["years"].to_list() == pytest.approx([1095 / 365.25, 366 / 365.25])


def test_a_move_of_a_part_and_a_place_in_no_room():
    assert stays(moved(MOVE | {"part": "foot"})).rows() == [("O", "R2", None, None)]
    there = stays(
        moved(MOVE, MOVE | {"move_id": "N", "moved_on": date(2014, 1, 1), "moved_from": "R2", "moved_to": "OUT"})
    )
    assert there["room"].to_list() == ["R1", "R2", None]
    assert there["until_on"].to_list() == [date(2013, 1, 1), date(2014, 1, 1), None]


def test_years_in_one_room_come_back_together():
    again = [("a", "S1", date(2013, 1, 1)), ("b", "R2", date(2014, 1, 1)), ("c", "R1", date(2015, 1, 1))]
    where = pl.DataFrame(
        [("O", "R1" if place != "R2" else place, day, until) for (_, place, day), until in zip(again, [*(d for *_, d in again[1:]), None], strict=True)],
        schema=stays(moved()).schema, orient="row",
    )  # fmt: skip
    spans = pl.DataFrame(
        {"span": [0], "object_id": ["O"], "starts_on": [date(2013, 1, 1)], "ends_on": [date(2016, 1, 1)]}
    )
    pieces = by_room(spans.with_columns(pl.col("span").cast(pl.UInt32)), where)

    assert pieces.select("room", "longest").rows() == [("R1", True), ("R2", False)]
    assert pieces["years"].to_list() == pytest.approx([730 / 365.25, 365 / 365.25])


def test_new_damage_of_a_kind_counts_over_the_years_of_all_objects():
    other = register(
        object=[{"object_id": "O"}, {"object_id": "P"}],
        condition_check=[check("C1", "O", "2012-01-01"), check("C2", "O", "2016-01-01"), check("P1", "P", "2012-01-01"), check("P2", "P", "2016-01-01")],
        damage=[{"damage_id": "D", "object_id": "O", "part": "whole", "kind": "chip", "onset": "since_last_look"}],
        observation=[{"check_id": "C2", "damage_id": "D", "activity": "stable"}],
    )  # fmt: skip
    rates = damage_rates(rows_of(other), KIND, trends())

    assert rates.select("count", "group", "events").rows() == [(NEW, "chip", 1)]
    assert rates["years"].item() == pytest.approx(2 * 1461 / 365.25)


def test_technique_groups_are_the_broadest_terms_and_never_overlap():
    objects = pl.DataFrame(
        {"object_id": ["a", "b", "c", "d"], "technique": [["painted_limoges"], ["cloisonne", "champleve"], None, []]},
        schema={"object_id": pl.String, "technique": pl.List(pl.String)},
    )  # fmt: skip
    groups = dict(technique_groups(objects).iter_rows())

    assert groups["b"] == SEVERAL
    assert groups == {"a": "painted", "b": SEVERAL}


def test_cells_count_what_is_new_with_their_kinds():
    rows = rows_of(moved(MOVE))
    rates = starting(as_known(moved(), DAY))
    its = cells(rows, rates)

    assert its.filter(pl.col("events") > 0).select("room", "year", "technique", "events").rows() == [
        ("R2", 2016, "champleve", 1)
    ]
    assert its["years"].sum() == pytest.approx(1461 / 365.25)
    assert cell_kinds(rows, rates).select("room", "kind", "events").rows() == [("R2", "chip", 1)]


def test_a_cell_is_tested_against_the_others_of_its_own_kinds():
    """Damp that chips would hide: 8 of 10 events in one of ten rooms of 100 years, beside 100 chips everywhere."""
    rooms = [f"R{n}" for n in range(10)]
    rows = [(r, "damp", 8 if r == "R0" else 0, 100.0) for r in rooms] + [(r, "chips", 10, 100.0) for r in rooms]
    frame = pl.DataFrame(
        rows, schema={"room": pl.String, ANSWERS_TO: pl.String, "events": pl.Int64, "years": pl.Float64}, orient="row"
    )

    apart = stories(frame, trends(), ANSWERS_TO).filter("stands_out")
    assert apart.select("room", ANSWERS_TO).rows() == [("R0", "damp")]
    assert apart["expected"].item() == pytest.approx(0.8)
    assert apart["elsewhere"].item() == 0
    assert TECHNIQUE == "technique"
