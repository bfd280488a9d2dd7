"""What being lifted and carried costs: chances a move and what a journey counts as are judgement, as rates.toml says."""

from datetime import date

import pytest

from collection.as_of import as_known
from collection.risk.handling import moves
from tests.collection.risk.builders import AS_OF, assessed, check, register

LOAN = {
    "loan": [{"loan_id": "L", "direction": "out"}],
    "loan_leg": [{"loan_id": "L", "leg": 1, "starts_on": date(2027, 1, 1), "ends_on": date(2027, 6, 1)}],
    "loan_object": [{"loan_id": "L", "object_id": "O", "part": "whole"}],
}


def hazard(kind="lifting", activity="active", repair=None, **more):
    """The hazard of one damage, or of one join of this stability."""
    damaged = {
        "damage": [{"damage_id": "d", "object_id": "O", "part": "whole", "kind": kind}],
        "observation": [{"check_id": "k", "damage_id": "d", "activity": activity}],
    }
    joined = {
        "repair": [{"repair_id": "r", "object_id": "O", "part": "whole", "function": "holds", "material": "wax"}],
        "repair_state": [{"check_id": "k", "repair_id": "r", "stability": repair}],
    }
    collection = register(
        object=[{"object_id": "O"}], condition_check=[check("k", "O")], **(joined if repair else damaged), **more
    )
    return assessed(collection).hazards.row(0, named=True)


def moved(*days, packed="by_hand"):
    return [
        {"move_id": f"m{n}", "object_id": "O", "moved_on": day, "packed": packed, "moved_from": None, "moved_to": None}
        for n, day in enumerate(days)
    ]


def test_moves_of_five_years_count_a_fifth_each():
    """Three moves by hand within five years, one before: 3 / 5 a year; a loan there and back: 10 each, 3 at rest."""
    own = [row | {"move_id": str(n)} for n, row in enumerate(
        moved(date(2026, 1, 1), date(2022, 1, 1), date(2021, 12, 1), date(2021, 10, 1)))]  # fmt: skip
    away = LOAN | {"loan_object": [{"loan_id": "L", "object_id": "P", "part": "whole"}]}
    collection = register(move=own, **away)

    rows = {row.pop("object_id"): row for row in moves(as_known(collection, AS_OF)).to_dicts()}

    nothing = {"planned_moving": 0, "planned_at_rest": 0}
    assert rows["O"] == pytest.approx({"moves_moving": 0.6, "moves_at_rest": 0.6} | nothing)
    both = {"moves_moving": 20, "moves_at_rest": 6, "planned_moving": 20, "planned_at_rest": 6}
    assert rows["P"] == pytest.approx(both)


def test_a_crated_move_counts_as_a_journey_does():
    collection = register(move=moved(date(2026, 1, 1), packed="crated"))

    (row,) = moves(as_known(collection, AS_OF)).to_dicts()

    assert (row["moves_moving"], row["moves_at_rest"]) == (10 / 5, 3 / 5)


@pytest.mark.parametrize(
    ("its", "chance", "counts"),
    [
        ({"activity": "active"}, 0.03, 10),  # mechanical, moving
        ({"activity": "suspected"}, 0.01, 10),
        ({"activity": "stable"}, 0.001, 3),  # at rest
        ({"kind": "fragment_loose", "activity": "unknown"}, 0.3, 10),
        ({"kind": "sugaring", "activity": "active"}, 0.3, 10),
        ({"kind": "flaking", "activity": "active"}, 0.3, 10),  # moving flakes are loose
        ({"kind": "flaking", "activity": "stable"}, 0.001, 3),
        ({"kind": "weeping", "activity": "active"}, 0.001, 10),
        ({"repair": "failing"}, 0.03, 10),  # a join: failing and failed as moving, sound and ageing at rest
        ({"repair": "failed"}, 0.03, 10),
        ({"repair": "unknown"}, 0.003, 10),
        ({"repair": "ageing"}, 0.0003, 3),
        ({"repair": "sound"}, 0.0003, 3),
    ],
    ids=str,
)
def test_a_journey_counts_as_ten_moves_three_at_rest(its, chance, counts):
    """There and back: two journeys."""
    row = hazard(**its, **LOAN)

    assert row["planned_rate"] == pytest.approx(2 * counts * chance)
    assert row["handling_rate"] == pytest.approx(row["planned_rate"])
    assert row["loss_rate"] == pytest.approx(1 / row["years_likely"] + row["handling_rate"])


def test_what_planned_journeys_add_is_shown_apart():
    """Five own moves in five years and a loan: 1 + 20 moves a year, of which 20 can be called off."""
    own = moved(*(date(2026, month, 1) for month in range(1, 6)))

    row = hazard(move=own, **LOAN)

    assert row["handling_rate"] == pytest.approx(21 * 0.03)
    assert row["planned_rate"] == pytest.approx(20 * 0.03)


def test_planning_a_loan_visibly_raises_the_loss_of_lifting_enamel():
    """Lifting, stable: 6 x 0.001 beside 1 in 30 years: 0.0393 events for 0.0333; active: 0.6 beside 1."""
    assert hazard(activity="stable", **LOAN)["loss_rate"] / hazard(activity="stable")["loss_rate"] == pytest.approx(
        1.18
    )
    assert hazard(**LOAN)["loss_rate"] / hazard()["loss_rate"] == pytest.approx(1.6)


def test_quiet_years_and_climate_do_not_make_a_move_safer():
    row = hazard(move=moved(date(2026, 1, 1)))

    assert row["loss_rate"] - row["handling_rate"] == pytest.approx(1 / row["years_likely"])


def test_the_mean_of_a_chance_a_move_is_that_of_its_range():
    """Within a factor of three: exp((ln 3 / 1.64485)² / 2) = 1.24988."""
    row = hazard(kind="fragment_loose", activity="unknown", **LOAN)

    assert row["mean_loss_rate"] == pytest.approx(0.412729 + row["handling_rate"] * 1.2499, rel=1e-4)
