"""What an object loses by its cause: split as the rate is, worked by hand; causes add up to the mean loss."""

from math import log
from typing import Any

import polars as pl
import pytest

from collection.questions.where_lost import CAUSES, by_cause
from tests.collection.risk.builders import assessed, check, register

PLAIN: dict[str, Any] = {
    "object_id": "O", "part": "p", "source": "damage", "part_share": 0.5, "mean_log_kept": log(0.9), "quiet_factor": 1.0,
    "years_likely": 10.0, "modifier": 1.0, "loss_rate": 0.1, "planned_rate": 0.0,
}  # fmt: skip


def split(*rows: dict[str, Any], share: float = 0.2) -> dict[str, float]:
    objects = pl.DataFrame({"object_id": ["O", "P"], "value_share": [share, 1 - share]})
    return by_cause(pl.DataFrame([PLAIN | row for row in rows]), objects).row(0, named=True)


def test_one_part_with_damage_in_a_worse_climate_and_a_repair_that_travels():
    """Part 0.5: lost 0.5 x (1 - 0.9 x 0.8) = 0.14, shared by logarithms. Damage: rate 0.2 of which 0.1 from a climate
    twice as bad. Repair: rate 0.4, of which 0.3 planned journeys.
    """
    worse = {"modifier": 2.0, "loss_rate": 0.2}
    travels = {"source": "repair", "mean_log_kept": log(0.8), "loss_rate": 0.4, "planned_rate": 0.3}
    damage, repair = (0.14 * log(kept) / log(0.72) for kept in (0.9, 0.8))

    row = split(worse, travels)

    assert row["climate"] == pytest.approx(0.2 * damage / 2, rel=1e-12)
    assert row["damage"] == pytest.approx(0.2 * damage / 2, rel=1e-12)
    assert row["journeys"] == pytest.approx(0.2 * repair * 3 / 4, rel=1e-12)
    assert row["repairs"] == pytest.approx(0.2 * repair / 4, rel=1e-12)
    assert sum(row[name] for name in CAUSES) == pytest.approx(0.2 * 0.14, rel=1e-12)


def test_a_climate_better_than_at_the_check_is_no_cause():
    row = split({"modifier": 0.5, "loss_rate": 0.05})

    assert row["climate"] == 0
    assert row["damage"] == pytest.approx(0.2 * 0.05, rel=1e-12)


def test_quiet_years_lessen_what_a_climate_adds():
    row = split({"quiet_factor": 0.4, "modifier": 3.0, "loss_rate": 0.12})

    assert row["climate"] == pytest.approx(0.2 * 0.05 * (2 * 0.4 * 0.1) / 0.12, rel=1e-12)


def test_parts_add_up_and_an_object_without_hazards_loses_nothing():
    both = split({}, {"part": "q"})
    objects = pl.DataFrame({"object_id": ["P"], "value_share": [1.0]})

    assert both["damage"] == pytest.approx(0.2 * 2 * 0.05, rel=1e-12)
    assert by_cause(pl.DataFrame([PLAIN]), objects).row(0) == ("P", 0.0, 0.0, 0.0, 0.0)


def test_causes_of_a_register_add_up_to_its_mean_loss():
    risk = assessed(
        register(
            object=[{"object_id": "O", "value_points": 3.0}, {"object_id": "P", "value_points": 10.0}],
            part=[{"object_id": o, "part": "whole"} for o in "OP"],
            condition_check=[check("k", "O"), check("m", "P")],
            damage=[{"damage_id": f"D{o}", "object_id": o, "part": "whole", "kind": "lifting"} for o in "OP"],
            observation=[
                {"check_id": c, "damage_id": f"D{o}", "activity": "active", "extent_band": "5_25"}
                for c, o in (("k", "O"), ("m", "P"))
            ],
            repair=[{"repair_id": "R", "object_id": "O", "part": "whole", "function": "holds", "material": "wax"}],
            repair_state=[{"check_id": "k", "repair_id": "R", "stability": "failing", "extent_band": "1_5"}],
        )
    )

    rows = by_cause(risk.hazards, risk.objects).join(risk.objects, on="object_id")

    total = sum(rows[name] for name in CAUSES)
    assert total.to_list() == pytest.approx((rows["mean_loss"] * rows["value_share"]).to_list(), rel=1e-12)
    assert rows["repairs"].max() > 0
    assert rows["damage"].min() > 0
