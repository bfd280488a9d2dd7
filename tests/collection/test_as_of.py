"""The register as it was known on a day: one cut, for every record that has a day."""

from datetime import date, datetime

import polars as pl
import pytest

from collection.as_of import as_known, local_day
from schemas.tables import RECORDS
from tests.collection.risk.builders import assessed, check, register

DAY = date(2023, 3, 1)


def ids(collection, record, column):
    return sorted(collection[record][column].to_list())


def test_rows_that_came_later_are_dropped_with_all_that_hangs_on_them():
    known = as_known(
        register(
            object=[{"object_id": "O"}],
            condition_check=[check("old", "O", "2023-03-01"), check("new", "O", "2023-03-02")],
            coverage=[{"check_id": c, "part": "whole", "side": "front", "seen": "seen"} for c in ("old", "new")],
            damage=[
                {"damage_id": "then", "object_id": "O", "part": "whole", "kind": "chip", "first_seen_on": "2023-03-01"},
                {
                    "damage_id": "later",
                    "object_id": "O",
                    "part": "whole",
                    "kind": "chip",
                    "first_seen_on": "2023-03-02",
                },
                {"damage_id": "always", "object_id": "O", "part": "whole", "kind": "chip"},
            ],
            observation=[{"check_id": c, "damage_id": "always", "activity": "active"} for c in ("old", "new")],
            fragment=[
                {"fragment_id": f, "object_id": "O", "part": "whole", "from_damage_id": f} for f in ("then", "later")
            ],
            repair=[
                {"repair_id": r, "object_id": "O", "part": "whole", "function": "holds", "done_on": day}
                for r, day in (("R1", "2023-02-28"), ("R2", "2023-03-02"))
            ],
            significance=[
                {"object_id": "O", "judged_by": "a", "judged_on": d, "value_points": 3.0}
                for d in (date(2023, 1, 1), date(2024, 1, 1))
            ],
            target=[{"target_id": str(d.year), "object_id": "O", "set_on": d} for d in (DAY, date(2024, 1, 1))],
        ),
        DAY,
    )

    assert ids(known, "condition_check", "check_id") == ["old"]
    assert ids(known, "coverage", "check_id") == ["old"]
    assert ids(known, "observation", "check_id") == ["old"]
    assert ids(known, "damage", "damage_id") == ["always", "then"]
    assert ids(known, "fragment", "fragment_id") == ["then"]
    assert ids(known, "repair", "repair_id") == ["R1"]
    assert ids(known, "significance", "judged_on") == [date(2023, 1, 1)]
    assert ids(known, "target", "target_id") == ["2023"]
    assert known.day == DAY


def test_a_month_or_a_year_has_happened_from_its_first_day():
    year = (
        check("y", "O")
        | {"checked_on": None}
        | {"checked_on_earliest": date(2026, 1, 1), "checked_on_latest": date(2026, 12, 31)}
    )
    collection = register(object=[{"object_id": "O"}], condition_check=[year])

    assert as_known(collection, date(2026, 1, 1))["condition_check"].height == 1
    assert as_known(collection, date(2025, 12, 31))["condition_check"].height == 0


def test_a_check_without_a_day_was_always_known():
    collection = register(
        object=[{"object_id": "O"}], condition_check=[check("r", "O", look="remark") | {"checked_on": None}]
    )

    assert as_known(collection, date(1950, 1, 1))["condition_check"].height == 1


def test_what_was_closed_later_is_open_and_what_was_done_later_is_not_done():
    closed = {"closed_on": date(2024, 1, 1), "closed_by": "T1"}
    known = as_known(
        register(
            object=[{"object_id": "O"}],
            damage=[{"damage_id": "d", "object_id": "O", "part": "whole", "kind": "chip", **closed}],
            treatment=[
                {
                    "treatment_id": "T1",
                    "object_id": "O",
                    "started_on": DAY,
                    "finished_on": date(2024, 1, 1),
                    "hours": 3.0,
                },
                {"treatment_id": "T2", "object_id": "O", "finished_on": date(2024, 1, 1)},
            ],
            danger_to_people=[
                {
                    "object_id": "O",
                    "part": "whole",
                    "agent": "radium",
                    "basis": "tested",
                    "made_safe_on": date(2024, 1, 1),
                }
            ],
            place_check=[{"location_id": "L", "seen_on": DAY, "fault": "dust", "mended_on": date(2024, 1, 1)}],
            location=[{"location_id": "L"}],
        ),
        DAY,
    )

    assert known["damage"].select("closed_on", "closed_by").row(0) == (None, None)
    assert known["treatment"].select("treatment_id", "finished_on", "hours").rows() == [("T1", None, None)]
    assert known["danger_to_people"]["made_safe_on"].item() is None
    assert known["place_check"]["mended_on"].item() is None


def test_a_superseded_check_is_replaced_once_the_correction_is_known():
    collection = register(
        object=[{"object_id": "O"}],
        condition_check=[
            check("wrong", "O", "2023-01-01", grade="good"),
            check("right", "O", "2023-06-01", grade="poor", supersedes_check_id="wrong"),
        ],
    )

    assert ids(as_known(collection, DAY), "condition_check", "check_id") == ["wrong"]
    assert ids(as_known(collection, date(2023, 6, 1)), "condition_check", "check_id") == ["right"]


def test_a_moment_is_of_the_day_of_the_museum():
    """20:00 in New York on 30 September is 1 October in UTC."""
    evening = pl.DataFrame({"at": [datetime(2026, 10, 1, 0, 0)]})

    assert evening.select(local_day("at", "America/New_York")).item() == date(2026, 9, 30)
    assert evening.select(local_day("at", "UTC")).item() == date(2026, 10, 1)


def test_a_stage_signed_in_the_evening_is_known_that_day():
    collection = register(
        setting=[{"name": "time_zone", "value": "America/New_York"}],
        object=[{"object_id": "O"}],
        loan=[{"loan_id": "L", "direction": "out"}],
        loan_state=[{"loan_id": "L", "object_id": "O", "state": "outgoing", "stated_on": datetime(2026, 10, 1, 0, 0)}],
    )

    assert as_known(collection, date(2026, 9, 30))["loan_state"].height == 1
    assert as_known(collection, date(2026, 9, 29))["loan_state"].height == 0


def test_each_day_that_a_record_declares_is_a_column_of_it():
    for spec in RECORDS.values():
        columns = {c.name for c in spec.columns}
        assert set(spec.model.known_from) <= columns, spec.name
        for end, more in spec.model.ended_by.items():
            assert {end, *more} <= columns, spec.name
            assert not any(spec.column(n).required for n in (end, *more)), spec.name


@pytest.mark.parametrize("day", [date.min, date(1, 6, 1), date.max])
def test_the_first_and_the_last_day_there_is_can_be_asked_for(day):
    collection = register(
        object=[{"object_id": "O"}],
        condition_check=[check("k", "O", "2026-06-01")],
        move=[{"move_id": "m", "object_id": "O", "moved_on": date(2026, 1, 1)}],
    )

    assert assessed(collection, as_of=day).objects.height == 1


def test_a_collection_that_was_not_cut_has_no_day():
    with pytest.raises(ValueError, match="as_known"):
        _ = register(object=[{"object_id": "O"}]).day
