"""Brier's score, skill, calibration: worked cases of the design and laws."""

import numpy as np
import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from collection.learning.parameters import learning
from collection.learning.scores import best_skill, brier, calibration, scored, skill

FIGURES = learning()


def test_skill_against_the_base_rate():
    """Worked case of the design."""
    p, y = np.array([0.9, 0.6, 0.3, 0.1, 0.05]), np.array([1.0, 1, 0, 0, 0])

    assert brier(p, y) == pytest.approx(0.0545)
    assert brier(np.full(5, 0.2), y) == pytest.approx(0.28)
    assert skill(brier(p, y), brier(np.full(5, 0.2), y)) == pytest.approx(0.805357, abs=5e-7)


def test_the_best_skill_possible():
    """Worked case of the design: p = 1 - exp(-3/T) over four rows of the rates."""
    counts = (5, 10, 25, 60)
    p = np.repeat(1 - np.exp(-3 / np.array([2.0, 10, 30, 300])), counts)

    assert p.mean() == pytest.approx(0.094522, abs=5e-7)
    assert best_skill(p) == pytest.approx(0.353820, abs=5e-7)


def test_no_forecast_has_no_skill_to_have():
    assert best_skill(np.zeros(3)) == 0
    assert skill(0.1, 0.0) is None


def test_below_ten_expected_events_nothing_is_judged():
    p, y = np.full(99, 0.1), np.zeros(99)
    objects = pl.Series([str(n) for n in range(99)])

    few = scored(objects, p, y, p, FIGURES, 10)

    assert (few.forecasts, few.events, few.judged) == (99, 0, False)
    assert few.expected == pytest.approx(9.9)
    assert few.skill is few.brier is few.skill_low is few.best_skill is None


def test_limits_of_skill_take_whole_objects():
    """The same forecasts ten times over on the same objects say no more than once."""
    chance = np.random.default_rng(1)
    p = chance.uniform(0.05, 0.9, 60)
    y = (chance.random(60) < p).astype(float)
    objects, base = pl.Series([str(n) for n in range(60)]), np.full(60, y.mean())

    once = scored(objects, p, y, base, FIGURES, 10)
    tenfold = scored(pl.Series(objects.to_list() * 10), np.tile(p, 10), np.tile(y, 10), np.tile(base, 10), FIGURES, 10)

    assert (once.skill, once.skill_low, once.skill_high) == pytest.approx(
        (tenfold.skill, tenfold.skill_low, tenfold.skill_high), rel=1e-9
    )
    assert once.skill_low < once.skill < once.skill_high


def test_right_forecasts_come_out_near_the_best_skill():
    chance = np.random.default_rng(2)
    p = chance.choice([0.02, 0.2, 0.7], 20_000)
    y = (chance.random(20_000) < p).astype(float)

    got = scored(pl.Series(range(20_000)), p, y, np.full(20_000, p.mean()), FIGURES, 10)

    assert got.skill == pytest.approx(got.best_skill, abs=0.02)
    assert got.skill_low < got.best_skill < got.skill_high


def test_calibration_in_groups_with_exact_limits():
    p = np.concatenate([np.full(100, 0.0501), np.full(20, 0.5), np.full(4, 0.9)])
    y = np.concatenate([np.ones(4), np.zeros(96), np.ones(11), np.zeros(9), np.ones(4)])

    rows = calibration(p, y, FIGURES)

    assert rows["forecasts"].sum() == 124
    assert rows["events"].sum() == 19
    assert (rows["expected"] >= FIGURES.events_a_group - 1e-9).all()
    first = rows.row(0, named=True)
    exact = stats.binomtest(4, 100).proportion_ci(0.9, "exact")
    assert (first["share_low"], first["share_high"]) == pytest.approx((exact.low, exact.high), rel=1e-5)


@settings(max_examples=40, deadline=None)
@given(st.lists(st.floats(0.001, 1), max_size=60))
def test_groups_hold_every_forecast_and_enough_events(chances):
    rows = calibration(np.array(chances), np.zeros(len(chances)), FIGURES)

    assert rows["forecasts"].sum() == len(chances)
    if sum(chances) >= FIGURES.events_a_group:
        assert (rows["expected"] >= FIGURES.events_a_group - 1e-6).all()
    else:
        assert rows.height <= 1
