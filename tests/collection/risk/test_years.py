"""Three points of years: the mean rate, and what quiet years leave of it; check values worked in the design (section 5)."""

import math

import numpy as np
import pytest

from collection.risk.rate_distribution import quiet_factor, rates_of
from collection.risk.years import mean_of_range, mean_rate, sigmas


@pytest.mark.parametrize(
    ("years", "rate"), [((1, 3, 10), 0.412729), ((3, 10, 30), 0.131889), ((10, 30, 300), 0.0383326)]
)
def test_the_mean_rate_in_closed_form(years, rate):
    assert mean_rate(*years) == pytest.approx(rate, abs=1e-6)


@pytest.mark.parametrize(
    ("years", "quiet", "factor"),
    [((1, 3, 10), 9.4, 0.405777), ((1, 3, 10), 3, 0.639612), ((3, 10, 30), 5, 0.738298), ((1, 3, 10), 0, 1)],
)
def test_what_quiet_years_leave_of_the_rate(years, quiet, factor):
    assert quiet_factor(years, np.array([quiet])).item() == pytest.approx(factor, abs=5e-7)


def test_more_quiet_years_never_make_faster():
    factors = quiet_factor((1, 3, 10), np.linspace(0, 40, 81))

    assert (np.diff(factors) < 0).all()
    assert (factors > 0).all()


def test_the_three_points_hold_and_a_side_the_ladder_ends_mirrors_the_other():
    z95 = 1.64485
    at = 1 / rates_of(np.array([-z95, 0, z95]), (1, 3, 30))

    assert at == pytest.approx([1, 3, 30])
    assert sigmas(300, 1000, 1000) == pytest.approx((math.log(1000 / 300) / z95,) * 2)
    assert sigmas(1, 1, 3) == pytest.approx((math.log(3) / z95,) * 2)


def test_a_chance_per_move_is_right_within_a_factor_of_three():
    """Lognormal with its 95th percentile at three times the median: exp(sigma squared / 2)."""
    assert mean_of_range(3) == pytest.approx(math.exp((math.log(3) / 1.64485) ** 2 / 2))
