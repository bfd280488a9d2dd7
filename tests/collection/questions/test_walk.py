"""The walk through the storeroom: rooms, units and shelves in natural order, the one order of lists within a shelf."""

from datetime import date

import pytest

from collection.questions.walk import NOTHING, NOWHERE, walk
from tests.collection.risk.builders import check, register, triaged

PLACES = [
    {"location_id": "H", "kind": "building", "name": "House"},
    *({"location_id": f"R{n}", "within": "H", "kind": "room", "name": f"Room {n}"} for n in (10, 2)),
    *({"location_id": f"R2-{n}", "within": "R2", "kind": "unit", "name": f"cabinet {n}"} for n in (11, 3)),
    *({"location_id": f"R2-3-{n}", "within": "R2-3", "kind": "shelf", "name": f"shelf {n}"} for n in (10, 9, 1)),
    {"location_id": "R10-1", "within": "R10", "kind": "shelf", "name": "shelf 1"},
]
KEPT = {"a": "R10-1", "b": "R2-3-10", "c": "R2-3-9", "d": "R2-11", "e": None, "f": "R2-3-9", "g": "R2", "h": "R2-3-1"}
MOVING = {"damage_id": "D", "object_id": "f", "part": "whole", "kind": "lifting", "visibility": "side"}


@pytest.fixture(scope="module")
def rows():
    triage = triaged(
        register(
            location=PLACES,
            object=[{"object_id": o, "title": f"{o}, plate", "location_id": place} for o, place in KEPT.items()],
            condition_check=[check("C", "f")],
            damage=[MOVING],
            observation=[{"check_id": "C", "damage_id": "D", "activity": "active", "extent_band": "under_0_1"}],
            loan=[{"loan_id": "L", "direction": "out", "status": "promised"}],
            loan_leg=[{"loan_id": "L", "leg": 1, "starts_on": date(2026, 11, 16)}],
            loan_object=[{"loan_id": "L", "object_id": "a", "part": "whole"}],
        )
    )
    return walk(triage, triage.objects)


def test_rooms_units_and_shelves_stand_in_natural_order(rows):
    passed = rows.select("location_id", "place").unique(maintain_order=True)

    assert passed["location_id"].to_list() == ["R2", "R2-3-1", "R2-3-9", "R2-3-10", "R2-11", "R10-1", None]
    assert passed["place"].to_list() == [
        "Room 2", "Room 2: shelf 1", "Room 2: shelf 9", "Room 2: shelf 10", "Room 2: cabinet 11", "Room 10: shelf 1", NOWHERE,
    ]  # fmt: skip


def test_what_is_urgent_stands_first_on_its_shelf(rows):
    assert rows.filter(location_id="R2-3-9")["object_id"].to_list() == ["f", "c"]


def test_what_is_wrong_has_no_day_and_what_leaves_has_one(rows):
    wrong = dict(rows.select("object_id", "wrong").iter_rows())
    leaves = dict(rows.select("object_id", "leaves").iter_rows())

    assert wrong["f"] == "active lifting"
    assert leaves == dict.fromkeys(KEPT) | {"a": "16 November 2026, L"}
    assert NOTHING not in wrong["f"]
