"""The published scale, as an outside check of the sums: 15 + log10(r) against A + B + C of Michalski & Pedersoli, The ABC
Method, CCI/ICCROM 2016 (A = 5 - log10(years), B and C = 5 + log10(fraction)). No code holds it.
"""

import math

import pytest

from tests.collection.risk.builders import hazard_rows, magnitude, risk_of


def test_one_event_in_300_years_that_costs_everything_is_12_and_a_half():
    """A = 5 - log10(300) = 2.52, B = C = 5: 12.52, by the manual's half steps 12.5; r = 1 - exp(-1/300)."""
    r = risk_of(hazard_rows({"years": 300.0, "reach": 1.0}))["annual_loss"]

    assert magnitude(r) == pytest.approx(15 - math.log10(300), abs=1e-3)
    assert round(2 * magnitude(r)) / 2 == 12.5


def test_rates_add_and_scores_do_not():
    """12.5 together with 10.5 is 12.50432: 10**-2.5 + 10**-4.5."""
    rows = [{"years": 1e9, "reach": 1.0, "part_share": 1.0, "part": p, "loss_depth": 1.0} for p in "ab"]
    large, small = ({**row, "years": 10**e} for row, e in zip(rows, (2.5, 4.5), strict=True))
    rates = [-math.log1p(-risk_of(hazard_rows(row))["annual_loss"]) for row in (large, small)]

    assert magnitude(sum(rates)) == pytest.approx(12.50432, abs=5e-6)
    assert magnitude(risk_of(hazard_rows(large, small | {"part": "a"}))["annual_loss"]) == pytest.approx(
        12.504, abs=1e-3
    )


@pytest.mark.parametrize(("years", "difference"), [(1, -0.20), (3, -0.07), (10, -0.02)])
def test_the_twelve_month_form_differs_from_a_plus_b_plus_c_as_said(years, difference):
    """Against A + B + C the 12-month form differs by -0.20 at 1 year, -0.07 at 3, -0.02 at 10 (worked in the design)."""
    whole = risk_of(hazard_rows({"years": float(years), "reach": 1.0}))

    assert magnitude(whole["annual_loss"]) - (15 - math.log10(years)) == pytest.approx(difference, abs=0.005)


@pytest.mark.parametrize(("share", "reach", "depth"), [(0.1, 0.3, 1.0), (0.85, 0.01, 0.3), (1.0, 0.05, 0.03)])
def test_fractions_enter_as_b_and_c_do(share, reach, depth):
    """Where events are rare r is share x reach x depth / years: B and C of the manual are those fractions."""
    risk = risk_of(hazard_rows({"years": 1000.0, "part_share": share, "reach": reach, "loss_depth": depth}))
    a, b, c = 5 - math.log10(1000), 5 + math.log10(depth), 5 + math.log10(share * reach)

    assert magnitude(risk["annual_loss"]) == pytest.approx(a + b + c, abs=1e-3)


def test_ten_times_the_years_lowers_a_single_hazard_by_what_the_sum_gives():
    short, long = (risk_of(hazard_rows({"years": t, "part_share": 0.5})) for t in (3.0, 30.0))

    # r = share * f * (1 - exp(-d / T)): the shares cancel
    expected = math.log10((1 - math.exp(-1 / 30)) / (1 - math.exp(-1 / 3)))
    assert magnitude(long["annual_loss"]) - magnitude(short["annual_loss"]) == pytest.approx(expected, abs=2e-9)
