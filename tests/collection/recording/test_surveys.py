"""Thirty at random: the seed is stored, the same seed gives the same objects, each at most once, only those not yet checked."""

import shutil
from datetime import date

import polars as pl
import pytest

from collection.questions.not_yet_checked import survey_number
from collection.recording.surveys import draw_survey, note_round
from collection.store import Change, Store
from collection.surveys.sampling import draw
from tests.collection.risk.builders import check, register

DAY = date(2026, 11, 1)
COUNT, CHECKED = 80, 20


@pytest.fixture(scope="module")
def held_once(tmp_path_factory):
    """80 objects, the first 20 of them checked, the next with a remark only."""
    its = register(
        object=[{"object_id": f"O{n:02d}", "location_id": f"S{n % 3}"} for n in range(COUNT)],
        location=[{"location_id": f"S{n}", "name": f"Shelf {n}", "kind": "shelf"} for n in range(3)],
        condition_check=[
            *(check(f"k{n}", f"O{n:02d}") for n in range(CHECKED)),
            check("r", f"O{CHECKED}", look="remark"),
        ],
    )
    store = Store(tmp_path_factory.mktemp("held") / "enamels.duckdb")
    store.write(Change({name: frame for name, frame in its.frames.items() if frame.height}), by="tester")
    return store


@pytest.fixture
def held(store, held_once):
    shutil.copyfile(held_once.path, store.path)
    return store


def rows(store) -> pl.DataFrame:
    """As the page gives them: all that were not checked when it was read."""
    return store.read()["object"].select("object_id", "location_id").filter(pl.col("object_id") >= f"O{CHECKED}")


def test_the_survey_is_noted_before_anybody_looks(held):
    told, drawn = draw_survey(held, rows(held), 30, by=" Ida ", day=DAY)

    (survey,) = held.read()["survey"].select("survey_id", "selection", "design", "seed", "starts_on").rows()
    assert survey[:3] == ("S20261101", "random", "30 drawn at random from 60 not yet checked")
    assert survey[4] == DAY
    assert told == "Survey S20261101: 30 objects. Their checks name this survey."
    assert drawn.height == 30
    assert set(held.read_record("journal").filter(pl.col("record_name") == "survey")["changed_by"]) == {"Ida"}


def test_the_stored_seed_gives_the_same_objects_again(held):
    _, drawn = draw_survey(held, rows(held), 30, by="Ida", day=DAY)
    seed = held.read()["survey"]["seed"].item()

    shuffled = rows(held).sample(fraction=1, shuffle=True, seed=9)
    units = shuffled.rename({"object_id": "unit_id"})
    assert set(draw(units, 30, seed)["unit_id"]) == set(drawn["object_id"])
    assert set(draw(units, 30, seed + 1)["unit_id"]) != set(drawn["object_id"])


def test_each_object_is_noted_with_its_chance_and_its_turn(held):
    _, drawn = draw_survey(held, rows(held), 30, by="Ida", day=DAY)

    units = held.read()["survey_unit"]
    assert set(units["unit_id"]) == set(drawn["object_id"])
    assert units["chance"].to_list() == [0.5] * 30
    assert sorted(units["draw_order"]) == list(range(1, 31))
    assert held.read()["survey"]["sampling"].to_list() == ["simple"]


def test_no_object_twice_and_only_those_not_yet_checked(held):
    _, drawn = draw_survey(held, rows(held), 30, by="Ida", day=DAY)

    assert drawn["object_id"].n_unique() == 30
    assert set(drawn["object_id"]) <= {f"O{n:02d}" for n in range(CHECKED, COUNT)}


def test_every_object_has_the_same_chance():
    """2,000 draws of 5 of 20: each is in 500 of them; four standard errors are 77."""
    few = pl.DataFrame({"unit_id": [f"O{n:02d}" for n in range(20)]})
    counts = pl.concat([draw(few, 5, seed).select("unit_id") for seed in range(2000)])["unit_id"].value_counts()

    assert counts.height == 20
    assert (counts["count"].cast(pl.Int64) - 500).abs().max() < 77


def test_what_somebody_checked_since_the_page_was_read_is_not_drawn(held):
    seen = rows(held)
    late = register(condition_check=[check(f"l{n}", f"O{n}") for n in range(CHECKED, COUNT - 5)])["condition_check"]
    held.write(Change({"condition_check": late}), by="Udo")

    told, drawn = draw_survey(held, seen, 30, by="Ida", day=DAY)

    assert set(drawn["object_id"]) == {f"O{n}" for n in range(COUNT - 5, COUNT)}
    assert told.startswith("Survey S20261101: 5 objects.")


def test_a_remark_is_no_check(held):
    _, drawn = draw_survey(held, rows(held), 60, by="Ida", day=DAY)

    assert f"O{CHECKED}" in set(drawn["object_id"])


def test_the_list_is_in_the_order_of_the_shelves(held):
    _, drawn = draw_survey(held, rows(held), 30, by="Ida", day=DAY)

    assert drawn.rows() == drawn.sort("location_id", "object_id").rows()


def test_a_second_draw_of_the_day_has_its_own_number_and_seed(held):
    (_, first), (told, second) = (draw_survey(held, rows(held), 30, by="Ida", day=DAY) for _ in range(2))

    assert told.startswith("Survey S20261101-2:")
    assert held.read()["survey"]["seed"].n_unique() == 2
    assert set(first["object_id"]) != set(second["object_id"])
    assert survey_number(DAY, {"S20261101", "S20261101-2"}) == "S20261101-3"


@pytest.mark.parametrize(
    ("by", "none", "told"),
    [
        ("  ", False, "First give your name."),
        ("Ida", True, "Nothing was drawn: every object here has been checked."),
    ],
)
def test_what_is_missing_is_said_and_nothing_written(held, by, none, told):
    given = rows(held).clear() if none else rows(held)

    words, drawn = draw_survey(held, given, 30, by=by, day=DAY)

    assert words == told
    assert drawn.is_empty()
    assert held.read()["survey"].is_empty()


def test_two_who_draw_at_the_same_moment_do_not_write_over_each_other(held, monkeypatch):
    stale = held.read()
    draw_survey(held, rows(held), 30, by="Ida", day=DAY)
    given = rows(held).head(40)
    with monkeypatch.context() as patch:
        patch.setattr(type(held), "read", lambda _: stale)
        told, drawn = draw_survey(held, given, 30, by="Udo", day=DAY)

    assert told == "Nothing was written: somebody else noted survey S20261101 at the same moment. Try again."
    assert drawn.is_empty()
    assert held.read()["survey"]["design"].to_list() == ["30 drawn at random from 60 not yet checked"]


def test_a_round_of_checks_is_noted_as_chosen_not_drawn(held):
    chosen = rows(held).head(5)
    told, noted = note_round(held, chosen, 2.5, by="Ida", day=DAY)
    (survey,) = held.read()["survey"].select("survey_id", "selection", "design", "seed", "starts_on").rows()

    assert survey == (
        "S20261101", "worst_first", "5 not yet checked, those whose check is worth most in 2.5 hours", None, DAY
    )  # fmt: skip
    assert told == "Survey S20261101: 5 objects. Their checks name this survey."
    assert noted.equals(chosen)


def test_a_round_without_a_name_or_without_anything_to_check_is_not_noted(held):
    checked = held.read()["object"].select("object_id", "location_id").filter(pl.col("object_id") < "O10")

    assert note_round(held, rows(held), 20.0, by="  ", day=DAY)[0] == "First give your name."
    assert "every object of this round has been checked" in note_round(held, checked, 20.0, by="Ida", day=DAY)[0]
    assert held.read()["survey"].is_empty()
