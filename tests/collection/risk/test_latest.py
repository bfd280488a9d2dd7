"""The state of a damage or repair is its line in the latest check that says something about it."""

from datetime import date

import pytest

from tests.collection.risk.builders import assessed, check, register


def state(lines, checks=("2024-01-01", "2025-01-01", "2026-01-01"), damage=None, as_of=None, **records):
    """State and check of the only damage, seen at the checks k0, k1, k2; None where it makes no hazard."""
    collection = register(
        object=[{"object_id": "O"}],
        part=[{"object_id": "O", "part": "whole"}],
        condition_check=records.pop("condition_check", [check(f"k{n}", "O", day) for n, day in enumerate(checks)]),
        damage=[{"damage_id": "d", "object_id": "O", "part": "whole", "kind": "crack"} | (damage or {})],
        observation=[{"damage_id": "d", **line} for line in lines],
        **records,
    )
    rows = assessed(collection, as_of=as_of or date(2026, 11, 1)).hazards.select("state", "check_id").rows()
    return rows[0] if rows else None


FIRST, SECOND, THIRD = ({"check_id": f"k{n}", "activity": a} for n, a in enumerate(("active", "stable", "suspected")))


def test_the_latest_day_decides():
    assert state([FIRST, SECOND, THIRD]) == ("suspected", "k2")


def test_on_one_day_the_number_of_the_check_decides():
    assert state([FIRST, SECOND, THIRD], checks=("2024-01-01",) * 3) == ("suspected", "k2")


@pytest.mark.parametrize("change", ["not_examined", "not_found"])
def test_a_line_that_says_nothing_leaves_the_state_before(change):
    assert state([FIRST, SECOND, THIRD | {"change": change}]) == ("stable", "k1")


def test_a_superseded_check_does_not_count():
    checks = [check("k0", "O", "2024-01-01"), check("k1", "O", "2025-01-01")]
    checks.append(check("k2", "O", "2024-06-01", supersedes_check_id="k1"))

    assert state([FIRST, SECOND], condition_check=checks) == ("active", "k0")


def test_a_withdrawn_line_does_not_count():
    withdrawn = THIRD | {"withdrawn_on": date(2026, 2, 1)}

    assert state([FIRST, SECOND, withdrawn]) == ("stable", "k1")


def test_the_day_of_the_question_decides_what_is_known():
    assert state([FIRST, SECOND, THIRD], as_of=date(2025, 6, 1)) == ("stable", "k1")


def test_a_damage_without_a_line_is_not_assessed():
    assert state([]) == ("unknown", None)


@pytest.mark.parametrize(
    "damage",
    [
        {"closed_on": date(2026, 2, 1)},
        {"origin": "manufacture"},
        {"kind": "pinhole"},
        {"kind": "fishscale", "origin": "uncertain"},
        {"kind": "part_missing"},
        {"kind": "polish_residue"},
        {"first_seen_on": "2026-12-01"},
    ],
    ids=[
        "closed",
        "flaw by origin",
        "flaw by kind",
        "flaw that may come later",
        "part missing",
        "residue",
        "not yet seen on that day",
    ],
)
def test_what_makes_no_hazard(damage):
    assert state([FIRST], damage=damage) is None


def test_damage_closed_after_the_day_of_the_question_is_still_open():
    assert state([FIRST], damage={"closed_on": date(2026, 12, 1)}) == ("active", "k0")


def test_an_object_that_is_away_makes_no_hazard_and_keeps_its_row():
    collection = register(
        object=[{"object_id": "O", "status": "disposed"}],
        damage=[{"damage_id": "d", "object_id": "O", "part": "whole", "kind": "crack"}],
    )

    (row,) = assessed(collection).objects.to_dicts()

    assert (row["annual_loss"], row["collection_loss"], row["value_share"], row["unchecked_loss"]) == (0, 0, 0, 0)


def test_crizzling_takes_its_row_by_stage():
    """Stage 5 active: 1, 1, 3 years and depth 0.3; no stage said: as stage 3 (3, 10, 30 and 0.1), and said to be assumed."""
    figures = {}
    for stage in (5, None):
        collection = register(
            object=[{"object_id": "O"}],
            condition_check=[check("k", "O")],
            damage=[{"damage_id": "d", "object_id": "O", "part": "whole", "kind": "crizzling"}],
            observation=[{"check_id": "k", "damage_id": "d", "activity": "active", "stage": stage}],
        )
        (row,) = assessed(collection).hazards.to_dicts()
        figures[stage] = (row["years_likely"], row["loss_depth"])

    assert figures == {5: (1.0, 0.3), None: (10.0, 0.1)}


def test_a_repair_takes_the_years_of_its_material_while_it_works():
    """Sound wax that holds: 10, 30, 100 years, depth 0.03; failed: 1, 1, 3, depth 0.1."""
    years = {}
    for stability in ("sound", "failed"):
        collection = register(
            object=[{"object_id": "O"}],
            condition_check=[check("k", "O")],
            repair=[{"repair_id": "r", "object_id": "O", "part": "whole", "function": "holds", "material": "wax"}],
            repair_state=[{"check_id": "k", "repair_id": "r", "stability": stability}],
        )
        (row,) = assessed(collection).hazards.to_dicts()
        years[stability] = (row["hazard_id"], row["years_likely"], row["loss_depth"])

    assert years == {"sound": ("repair:r", 30.0, 0.03), "failed": ("repair:r", 1.0, 0.1)}
