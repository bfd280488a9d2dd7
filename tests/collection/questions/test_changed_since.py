"""What changed since a day, by shelf: new, worse, treated, moved, each once an object."""

from datetime import date

import pytest

from collection.questions.changed_since import changed_since, happened, sentence
from collection.questions.triage import Triage
from tests.collection.risk.builders import check, register, triaged

DAY, SINCE = date(2026, 1, 1), date(2025, 1, 1)


@pytest.fixture(scope="module")
def some() -> Triage:
    """a: a chip new in 2025; b: began to move; c: treated, and moved; d: changed before the day; e: graded worse."""
    checks = [
        check(f"{o}{y}", o, f"{y}-06-01", grade="fair" if (o, y) == ("e", 2025) else "good")
        for o in "abcde"
        for y in (2023, 2024, 2025)
    ]
    damage = [
        {"damage_id": "A", "object_id": "a", "part": "whole", "kind": "chip", "onset": "since_last_look"},
        {"damage_id": "B", "object_id": "b", "part": "whole", "kind": "lifting", "onset": "before_register"},
        {"damage_id": "D", "object_id": "d", "part": "whole", "kind": "chip", "onset": "since_last_look"},
    ]  # fmt: skip
    lines = [
        ("a2025", "A", "stable"),
        ("b2024", "B", "stable"),
        ("b2025", "B", "active"),
        ("d2024", "D", "stable"),
        ("d2025", "D", "stable"),
    ]
    return triaged(
        register(
            object=[{"object_id": o, "location_id": "S2" if o == "c" else "S1"} for o in "abcdef"],
            location=[{"location_id": "R", "kind": "room", "name": "Room"}, {"location_id": "S1", "within": "R", "name": "Shelf 1"}, {"location_id": "S2", "within": "R", "name": "Shelf 2"}],
            condition_check=checks, damage=damage,
            observation=[{"check_id": c, "damage_id": d, "activity": a, "change": "unchanged"} for c, d, a in lines],
            treatment=[{"treatment_id": "T", "object_id": "c", "started_on": date(2025, 2, 1), "finished_on": date(2025, 2, 3)}],
            move=[{"move_id": "M", "object_id": "c", "moved_on": date(2025, 3, 1), "moved_from": "S1", "moved_to": "S2"},
                  {"move_id": "N", "object_id": "d", "moved_on": date(2024, 3, 1), "moved_from": "S2", "moved_to": "S1"}],
        ),
        DAY,
    )  # fmt: skip


def test_each_change_once_an_object(some):
    assert happened(some, SINCE).rows() == [
        ("a", "new"), ("b", "worse"), ("c", "moved"), ("c", "treated"), ("e", "worse"),
    ]  # fmt: skip


def test_by_shelf_in_shelf_order(some):
    rows = changed_since(some, some.objects, SINCE)

    assert rows.select("place", "new", "worse", "treated", "moved", "objects").rows() == [
        ("Shelf 1", 1, 2, 0, 0, 3), ("Shelf 2", 0, 0, 1, 1, 1),
    ]  # fmt: skip
    assert sorted(rows["which"][0].split(", ")) == ["a", "b", "e"]


def test_in_a_sentence_with_how_many_nobody_checked_since(some):
    assert sentence(some, some.objects, SINCE) == (
        "Since 1 January 2025 new damage: 1 object; worse: 2 objects; treated: 1 object; moved here: 1 object."
        " 1 object not checked since then."
    )
    assert sentence(some, some.objects, DAY) == "Nothing that was checked or noted changed since 1 January 2026."
