"""Damage and coating on one spot: what both may cost is counted once; check values worked in the design (section 3)."""

import math

import pytest

from tests.collection.risk.builders import assessed, check, hazard_rows, loss_of, register, risk_of

K = 0.283469  # 1 - exp(-1/3)
LARGE = {"reach": 0.3, "years": 3.0, "loss_depth": 1.0}
SMALL = LARGE | {"reach": 0.1}


def test_areas_in_each_other_and_apart():
    """0.3 and 0.1, both K 0.283469: 0.105352 on one spot, 0.110977 as places apart."""
    spot = risk_of(hazard_rows(LARGE | {"nested": True}, SMALL | {"nested": True}))
    apart = risk_of(hazard_rows(LARGE, SMALL))

    assert spot["annual_loss"] == pytest.approx(0.105352, abs=5e-7)
    assert apart["annual_loss"] == pytest.approx(0.110977, abs=5e-7)


def test_the_union_as_it_is_written():
    """(l1 - l2) K1 + l2 (1 - (1 - K1)(1 - K2)), also over ten years, for unlike rates."""
    rows = hazard_rows(LARGE | {"nested": True}, SMALL | {"nested": True, "years": 10.0, "loss_depth": 0.5})
    for years in (1, 10):
        k1, k2 = 1 - math.exp(-years / 3), 1 - math.exp(-0.5 * years / 10)

        assert loss_of(rows, years) == pytest.approx(0.2 * k1 + 0.1 * (1 - (1 - k1) * (1 - k2)), rel=1e-12)


def test_a_chain_of_three_and_a_place_apart():
    third = SMALL | {"reach": 0.04}
    rows = [row | {"nested": True} for row in (LARGE, SMALL, third)]
    kept = 1 - K

    spot = 0.2 * K + 0.06 * (1 - kept**2) + 0.04 * (1 - kept**3)

    assert risk_of(hazard_rows(*rows))["annual_loss"] == pytest.approx(spot, abs=5e-7)
    beside = risk_of(hazard_rows(*rows, SMALL))["annual_loss"]
    assert beside == pytest.approx(1 - (1 - spot) * (1 - 0.1 * K), abs=5e-7)


def coated(*damage, part="whole", coat=True):
    """An object of 10,000 mm² with lifting under a failing coating; the damage and its line as given."""
    cover = {"repair_id": "r", "object_id": "O", "part": "whole", "function": "covers", "material": "wax"}
    return register(
        object=[{"object_id": "O", "enamel_area_mm2": 10_000.0}],
        part=[{"object_id": "O", "part": "whole"}],
        condition_check=[check("k", "O")],
        damage=[{"damage_id": f"d{n}", "object_id": "O", "part": part, "kind": kind} for n, (kind, _) in enumerate(damage)],
        observation=[
            {"check_id": "k", "damage_id": f"d{n}", "activity": "active", "area_mm2": area}
            for n, (_, area) in enumerate(damage)
        ],
        repair=[cover] if coat else [],
        repair_state=[{"check_id": "k", "repair_id": "r", "stability": "failing", "harmed_mm2": 3000.0}] if coat else [],
    )  # fmt: skip


def test_damage_beneath_a_coating_of_a_register_is_counted_once():
    """Coat harms 0.3 (10 years, depth 0.01), lifting 0.1 beneath it (1 year, depth 0.3)."""
    risk = assessed(coated(("lifting", 1000.0)))
    k_coat, k_lifting = 1 - math.exp(-0.01 / 10), 1 - math.exp(-0.3)

    assert risk.hazards["nested"].to_list() == [True, True]
    assert dict(risk.hazards.select("hazard_id", "reach").iter_rows()) == pytest.approx(
        {"damage:d0": 0.1, "repair:r": 0.3}
    )
    expected = 0.2 * k_coat + 0.1 * (1 - (1 - k_coat) * (1 - k_lifting))
    assert risk.objects["annual_loss"].item() == pytest.approx(expected, rel=1e-12)


def test_only_glass_and_interface_lie_under_a_coating():
    """A dent is of the metal: a place apart."""
    hazards = assessed(coated(("lifting", 1000.0), ("dent", 500.0))).hazards

    assert dict(hazards.select("hazard_id", "nested").iter_rows()) == {
        "damage:d0": True,
        "damage:d1": False,
        "repair:r": True,
    }


def test_without_a_coating_nothing_is_nested():
    assert not assessed(coated(("lifting", 1000.0), ("weeping", 500.0), coat=False)).hazards["nested"].any()
