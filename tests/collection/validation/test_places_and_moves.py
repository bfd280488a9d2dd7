"""Places that lie within each other, and moves that change the place of an object in the same write."""

from datetime import date

import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from collection.snapshot import Collection
from collection.validation.validate import validate
from tests.collection.validation.rows import EMPTY, TODAY, rows

# within each place, the places refused; E lies in a circle's shelf, which goes with it
CIRCLES = [
    ({"A": "A"}, {"A"}),
    ({"A": "B", "B": "A", "C": None}, {"A", "B"}),
    ({"A": "B", "B": "C", "C": "A", "D": "C", "E": "D"}, {"A", "B", "C", "D", "E"}),
    ({"A": None, "B": "A", "C": "B"}, set()),
]


@pytest.mark.parametrize(("within", "refused"), CIRCLES)
def test_places_that_lie_within_themselves_are_refused(within, refused):
    places = rows(location_id=list(within), within=pl.Series(list(within.values()), dtype=pl.String))

    result = validate({"location": places}, EMPTY, today=TODAY)

    assert set(result.refused["key"]) == refused


def test_a_new_place_that_closes_a_circle_over_held_ones_is_refused():
    held = Collection.of({"location": pl.DataFrame({"location_id": ["A", "B"], "within": ["B", None]})})

    result = validate({"location": rows(location_id=["B"], within=["A"])}, held, today=TODAY)

    assert result.problems["rule"].to_list() == ["within_itself"]


@given(st.lists(st.integers(0, 30), min_size=1, max_size=31))
@settings(max_examples=60, deadline=None)
def test_what_is_left_of_the_places_is_a_forest(parents):
    names = [str(n) for n in range(len(parents))]
    within = [str(p) if p < len(parents) else None for p in parents]

    places = rows(location_id=names, within=pl.Series(within, dtype=pl.String))
    accepted = validate({"location": places}, EMPTY, today=TODAY).accepted.get("location")

    above = dict(accepted.select("location_id", "within").rows()) if accepted is not None else {}
    for name in above:
        seen = set()
        at = name
        while at is not None:
            assert at not in seen
            seen.add(at)
            at = above[at]


MOVES = {"move_id": ["M1", "M2"], "object_id": ["V.1", "V.1"], "moved_on": ["2026-05-01", "2026-06-01"]}
PLACES = pl.DataFrame({"location_id": ["A", "B", "C"]})


def moved(objects: pl.DataFrame, **more: object):
    held = Collection.of({"location": PLACES, "object": objects})
    moves = rows(**{**MOVES, "moved_to": ["B", "C"], **more})
    return validate({"move": moves}, held, today=TODAY)


def test_the_newest_move_changes_the_place_of_the_object_in_the_same_write():
    result = moved(pl.DataFrame({"object_id": ["V.1"], "location_id": ["A"]}))

    assert result.accepted["object"].select("object_id", "location_id", "row_version").rows() == [("V.1", "C", 1)]
    assert result.changes.select("record", "key", "before", "after").rows() == [("object", "V.1", '"A"', '"C"')]
    assert result.problems.select("record", "row", "rule", "level").rows() == [("move", 2, "place_moved", "note")]


@pytest.mark.parametrize(
    ("why", "more"),
    [
        ("it is there already", {"moved_to": ["B", "A"]}),
        ("it is still to come", {"moved_on": ["2027-05-01", "2027-06-01"]}),
        ("only a part moved", {"part": ["lid", "lid"]}),
    ],
)
def test_a_move_that_moves_nothing_changes_no_place(why, more):
    result = moved(pl.DataFrame({"object_id": ["V.1"], "location_id": ["A"]}), **more)

    assert "object" not in result.accepted, why


def test_a_move_older_than_one_that_is_held_changes_no_place():
    held = Collection.of(
        {
            "location": PLACES,
            "object": pl.DataFrame({"object_id": ["V.1"], "location_id": ["A"]}),
            "move": pl.DataFrame(
                {"move_id": ["M9"], "object_id": ["V.1"], "moved_on": [date(2026, 8, 1)], "moved_to": ["A"]}
            ),
        }
    )

    result = validate({"move": rows(**MOVES, moved_to=["B", "C"])}, held, today=TODAY)

    assert "object" not in result.accepted


def test_a_place_that_a_person_set_by_hand_stays_and_the_move_is_asked_about():
    by_hand = pl.DataFrame({"object_id": ["V.1"], "location_id": ["A"], "set_here": [["location_id"]]})

    result = moved(by_hand)

    assert "object" not in result.accepted
    assert result.problems.select("rule", "level").rows() == [("place_not_moved", "ask")]


def test_a_bare_new_place_in_a_list_is_a_correction_and_makes_no_move():
    held = Collection.of({"location": PLACES, "object": pl.DataFrame({"object_id": ["V.1"], "location_id": ["A"]})})

    result = validate({"object": rows(object_id=["V.1"], location_id=["B"])}, held, today=TODAY)

    assert set(result.accepted) == {"object"}
