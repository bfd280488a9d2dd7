"""The published scale: Michalski & Pedersoli, The ABC Method, CCI/ICCROM 2016; anchors as named in each test."""

import math

import narwhals as nw
import polars as pl
import pytest

from collection.risk.object_risk import _magnitude
from collection.risk.rates import RatesTable
from collection.snapshot import Collection
from tests.collection.risk.builders import hazard_rows, risk_of


def magnitude(annual_loss: float) -> float:
    rates = RatesTable.of(Collection.of({}))
    frame = nw.from_native(pl.DataFrame({"loss": [annual_loss]}))
    return frame.select(m=_magnitude(nw.col("loss"), rates))["m"].item()


def test_one_event_in_300_years_that_costs_everything_is_12_and_a_half():
    """A = 5 - log10(300) = 2.52, B = C = 5: 12.52, by the manual's half steps 12.5."""
    m = magnitude(1 / 300)

    assert m == pytest.approx(15 - math.log10(300), abs=1e-9)
    assert round(2 * m) / 2 == 12.5


def test_rates_add_and_scores_do_not():
    """12.5 together with 10.5 is 12.50432: 10**-2.5 + 10**-4.5."""
    assert magnitude(10**-2.5 + 10**-4.5) == pytest.approx(12.50432, abs=5e-6)


def test_the_whole_value_within_the_year_is_the_ceiling():
    assert magnitude(1.0) == 15


def test_no_loss_has_no_magnitude():
    assert magnitude(0.0) is None


@pytest.mark.parametrize(("years", "difference"), [(1, -0.20), (3, -0.07), (10, -0.02)])
def test_the_twelve_month_form_differs_from_a_plus_b_plus_c_as_said(years, difference):
    """Section 3: against A + B + C the 12-month form differs by -0.20 at 1 year, -0.07 at 3, -0.02 at 10."""
    whole = risk_of(hazard_rows({"years": float(years), "reach": 1.0}))

    assert whole["magnitude"] - (15 - math.log10(years)) == pytest.approx(difference, abs=0.005)


def test_ten_times_the_years_lowers_a_single_hazard_by_what_section_3_gives():
    short, long = (risk_of(hazard_rows({"years": t, "part_share": 0.5})) for t in (3.0, 30.0))

    # r = share * f * (1 - exp(-d / T)): the shares cancel
    expected = math.log10((1 - math.exp(-1 / 30)) / (1 - math.exp(-1 / 3)))
    assert long["magnitude"] - short["magnitude"] == pytest.approx(expected, abs=2e-9)
