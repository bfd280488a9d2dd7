"""Which starting values move the total: worked by hand, and against a whole second run with that row's years changed."""

import math
from dataclasses import replace
from datetime import date

import polars as pl
import pytest

from collection.as_of import as_known
from collection.pipeline import assess
from collection.risk.rates import RatesTable
from collection.risk.sensitivity import sway
from collection.snapshot import Collection
from collection.store.engines import PolarsEngine
from tests.collection.risk.builders import AS_OF, check, hazard_rows, register, starting_values

# Rows of the rates: the moving state of two kinds.
CELLS = ("damage/lifting/active", "damage/crack/active")
ROWS = [int(starting_values().rows.filter(pl.col("cell") == cell)["rate_row"][0]) for cell in CELLS]


def two_hazards(part: str = "q") -> tuple[pl.DataFrame, pl.DataFrame]:
    """A: years (1, 3, 10), reach 0.3, depth 1; B: (3, 10, 30), 0.2, 0.5; objects of shares 0.6 and 0.4."""
    rows = hazard_rows(
        {"object_id": "A"}, {"object_id": "B", "part": part, "years": 10.0, "reach": 0.2, "loss_depth": 0.5}
    )
    named = rows.with_columns(
        rate_row=pl.Series(ROWS, dtype=pl.Int32),
        basis=pl.lit("starting value, judgement"),
        years_short=pl.Series([1.0, 3.0]),
        years_long=pl.Series([10.0, 30.0]),
    )
    return named, pl.DataFrame({"object_id": ["A", "B"], "value_share": [0.6, 0.4]})


def lost(years: float, reach: float, depth: float) -> float:
    return reach * (1 - math.exp(-depth / years))


def test_two_hazards_of_two_rows_by_hand():
    hazards, objects = two_hazards()
    a, b = 0.6 * lost(3, 0.3, 1), 0.4 * lost(10, 0.2, 0.5)

    rows = sway(hazards, objects, starting_values(), first=1)

    assert rows["cell"].to_list() == list(CELLS)
    assert rows["total_short"].to_list() == pytest.approx(
        [(0.6 * lost(1, 0.3, 1) + b) / (a + b), (a + 0.4 * lost(3, 0.2, 0.5)) / (a + b)], rel=1e-9
    )
    assert rows["total_long"].to_list() == pytest.approx(
        [(0.6 * lost(10, 0.3, 1) + b) / (a + b), (a + 0.4 * lost(30, 0.2, 0.5)) / (a + b)], rel=1e-9
    )
    assert rows["hazards"].to_list() == [1, 1]


def test_who_would_take_the_first_place():
    """A comes first by far, so that only a B worth more would change places with it."""
    hazards, objects = two_hazards()
    worth = objects.with_columns(value_share=pl.Series([0.2, 0.8]))

    assert sway(hazards, objects, starting_values(), first=1)["changed_in_first"].to_list() == [0, 0]
    # 0.2 x 0.0850 = 0.0170 beside 0.8 x 0.00975 = 0.0078; A at 10 years 0.0057; B at 3 years 0.0246.
    assert sway(hazards, worth, starting_values(), first=1)["changed_in_first"].to_list() == [1, 1]
    assert sway(hazards, worth, starting_values(), first=2)["changed_in_first"].to_list() == [0, 0]


def damaged() -> Collection:
    """Two rows on one part, one of them under a coating on the same spot, and the first row on another object too."""
    return register(
        object=[{"object_id": o, "enamel_area_mm2": 10_000.0, "value_points": p} for o, p in (("A", 3.0), ("B", 10.0))],
        part=[{"object_id": o, "part": "whole"} for o in "AB"],
        condition_check=[check("k", "A"), check("m", "B")],
        damage=[
            {"damage_id": "d1", "object_id": "A", "part": "whole", "kind": "lifting"},
            {"damage_id": "d2", "object_id": "A", "part": "whole", "kind": "crack"},
            {"damage_id": "d3", "object_id": "B", "part": "whole", "kind": "lifting"},
        ],
        observation=[
            {"check_id": "k", "damage_id": "d1", "activity": "active", "area_mm2": 1000.0},
            {"check_id": "k", "damage_id": "d2", "activity": "active", "length_mm": 80.0},
            {"check_id": "m", "damage_id": "d3", "activity": "active", "area_mm2": 400.0},
        ],
        repair=[{"repair_id": "r", "object_id": "A", "part": "whole", "function": "covers", "material": "wax"}],
        repair_state=[{"check_id": "k", "repair_id": "r", "stability": "failing", "harmed_mm2": 3000.0}],
        move=[{"move_id": "v", "object_id": "A", "moved_on": date(2026, 7, 1)}],
    )


def total(rates: RatesTable) -> float:
    known = as_known(damaged(), AS_OF)
    objects = assess(known, rates, PolarsEngine()).objects
    return float((objects["annual_loss"] * objects["value_share"]).sum())


@pytest.mark.parametrize("cell", ["damage/lifting/active", "damage/crack/active", "repair/covers/failing"])
@pytest.mark.parametrize("end", ["short", "long"])
def test_the_total_is_that_of_a_whole_second_run(cell, end):
    known = as_known(damaged(), AS_OF)
    rates = RatesTable.of(known)
    risk = assess(known, rates, PolarsEngine())
    of_row = pl.when(pl.col("cell") == cell).then(f"years_{end}").otherwise("years_likely").alias("years_likely")
    other = replace(rates, damage=rates.damage.with_columns(of_row), repair=rates.repair.with_columns(of_row))

    rows = sway(risk.hazards, risk.objects, rates, first=1)

    times = rows.filter(pl.col("cell") == cell)[f"total_{end}"].item()
    assert times == pytest.approx(total(other) / total(rates), rel=1e-9)
    changed = not rates.rows.filter(pl.col("cell") == cell, pl.col("years_likely") != pl.col(f"years_{end}")).is_empty()
    assert (abs(times - 1) > 1e-9) == changed


def test_nothing_at_stake_gives_no_row():
    hazards, objects = two_hazards()

    assert sway(hazards, objects.with_columns(value_share=0.0), starting_values(), first=1).is_empty()
