"""The worked cases of the risk model, worked by hand in the design (section 3), to the digits given there."""

import math

import pytest

from collection.questions.explain import explain
from tests.collection.risk.builders import assessed, check, hazard_rows, loss_of, magnitude, register, risk_of, triaged

GABLE = {"part": "gable plaque", "part_share": 0.1, "reach": 0.3, "loss_depth": 1.0, "years": 3.0}
HINGE = {"part": "hinge plaque", "part_share": 0.05, "reach": 1.0, "loss_depth": 0.25, "years": 3.0}
WELL = {"part": "well", "part_share": 0.85, "reach": 0.01, "loss_depth": 0.3, "years": 300.0}
D_ONE = {"part_share": 0.4, "reach": 0.3, "loss_depth": 1.0, "years": 3.0}
D_TWO = {"part_share": 0.4, "reach": 0.2, "loss_depth": 0.5, "years": 10.0}


@pytest.mark.parametrize(
    ("rows", "r", "m", "p12", "ten_years"),
    [
        ((GABLE, HINGE), 0.0125018, 13.096974, 0.486583, 0.0571999),
        ((WELL,), 8.49575e-6, 9.929202, 0.0033278, 8.45764e-5),
        ((D_ONE, D_TWO), 0.0375861, 13.575027, 1 - math.exp(-1 / 3 - 1 / 10), 0.138090),
    ],
    ids=["A casket", "B dish", "D two hazards in one part"],
)
def test_the_formulas_give_the_worked_cases(rows, r, m, p12, ten_years):
    hazards = hazard_rows(*rows)

    risk = risk_of(hazards)

    assert risk["annual_loss"] == pytest.approx(r, rel=1e-5)
    assert magnitude(risk["annual_loss"]) == pytest.approx(m, abs=5e-7)
    assert risk["chance_12_months"] == pytest.approx(p12, abs=5e-7)
    assert loss_of(hazards, 10) == pytest.approx(ten_years, rel=1e-5)
    assert loss_of(hazards, 1) == pytest.approx(risk["annual_loss"], rel=1e-14)


def test_the_part_cut_in_two_gives_the_same_to_the_last_digit():
    halves = [row | {"part_share": 0.2, "part": part} for part in ("left", "right") for row in (D_ONE, D_TWO)]

    whole, cut = risk_of(hazard_rows(D_ONE, D_TWO)), risk_of(hazard_rows(*halves))

    assert cut["annual_loss"] == whole["annual_loss"]


def case_c():
    """One part *whole* of 100 x 80 mm: active lifting in the band 5 to 25 %, a stable crack of 40 mm."""
    return register(
        object=[{"object_id": "C", "height_mm": 100.0, "width_mm": 80.0, "object_type": "plaque"}],
        part=[{"object_id": "C", "part": "whole"}],
        condition_check=[check("k", "C")],
        damage=[
            {"damage_id": "d1", "object_id": "C", "part": "whole", "kind": "lifting"},
            {"damage_id": "d2", "object_id": "C", "part": "whole", "kind": "crack"},
        ],
        observation=[
            {"check_id": "k", "damage_id": "d1", "activity": "active", "extent_band": "from_5_to_25"},
            {"check_id": "k", "damage_id": "d2", "activity": "stable", "length_mm": 40.0},
        ],
    )


def test_case_c_looks_its_rates_up():
    collection = case_c()

    risk = assessed(collection)
    (row,) = risk.objects.to_dicts()
    explained = explain(triaged(collection), "C")

    assert row["annual_loss"] == pytest.approx(0.0285165, rel=2e-6)
    assert magnitude(row["annual_loss"]) == pytest.approx(13.455096, abs=5e-7)
    assert row["chance_12_months"] == pytest.approx(0.633345, abs=5e-7)
    assert loss_of(risk.hazards, 10) == pytest.approx(0.104583, rel=1e-5)
    assert explained["contribution"].to_list() == pytest.approx([0.999770, 0.000230], abs=5e-7)


@pytest.mark.parametrize(
    ("rows", "contributions"),
    [((GABLE, HINGE), [0.680225, 0.319775]), ((D_ONE, D_TWO), [0.900666, 0.099334])],
    ids=["A", "D"],
)
def test_contributions_of_the_worked_cases(rows, contributions):
    from collection.questions.explain import _with_loss

    loss = _with_loss(hazard_rows(*rows))["expected_loss"]

    assert (loss / loss.sum()).to_list() == pytest.approx(contributions, abs=5e-7)


@pytest.mark.parametrize(
    ("affected", "visibility", "reach"),
    [(0.3, 0.5, 0.163340), (0.3, 1, 0.3), (0.3, 2, 0.51), (0.6, 2, 0.84), (1, 0.5, 1), (1, 1, 1), (1, 2, 1)],
)
def test_visibility_weighs_the_reach(affected, visibility, reach):
    """The table of section 3: hidden 0.5, side 1, face 2."""
    import polars as pl

    from collection.risk.extent import reach as reached
    from collection.risk.namespace import POLARS

    frame = pl.DataFrame({"affected_share": [float(affected)], "visibility": [float(visibility)]})

    assert frame.select(f=reached(POLARS))["f"].item() == pytest.approx(reach, abs=5e-7)
