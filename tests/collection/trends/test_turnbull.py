"""Failures between two looks: published data, and what is true by construction."""

import numpy as np
import pytest

from collection.trends.turnbull import Lifetimes, turnbull, weibull, weibulls

OPEN = np.inf
# Radiotherapy only, months to cosmetic deterioration in (low, high]: Finkelstein & Wolfe, Biometrics 41 (1985) 933;
# Klein & Moeschberger, Survival Analysis, table 1.4. The data are from memory, the answers were given with the method.
RADIOTHERAPY = [
    (45, OPEN), (6, 10), (0, 7), (46, OPEN), (46, OPEN), (7, 16), (17, OPEN), (7, 14), (37, 44), (0, 8), (4, 11),
    (15, OPEN), (11, 15), (22, OPEN), (46, OPEN), (46, OPEN), (25, 37), (46, OPEN), (26, 40), (46, OPEN), (27, 34),
    (36, 44), (46, OPEN), (36, 48), (37, OPEN), (40, OPEN), (17, 25), (46, OPEN), (11, 18), (38, OPEN), (5, 12),
    (37, OPEN), (0, 5), (18, OPEN), (24, OPEN), (36, OPEN), (5, 11), (19, 35), (17, 25), (24, OPEN), (32, OPEN),
    (33, OPEN), (18, 26), (37, OPEN), (34, OPEN), (36, OPEN),
]  # fmt: skip
MASSES = {
    (4, 5): 0.0463, (6, 7): 0.0334, (7, 8): 0.0887, (11, 12): 0.0708, (24, 25): 0.0926, (33, 34): 0.0818,
    (38, 40): 0.1209, (46, 48): 0.4656,
}  # fmt: skip


def lifetimes(rows, entered=0.0) -> Lifetimes:
    low, high = np.array(rows, dtype=float).T
    return Lifetimes(low, high, np.broadcast_to(np.asarray(entered, dtype=float), low.shape).copy())


@pytest.fixture(scope="module")
def cosmetic() -> Lifetimes:
    assert len(RADIOTHERAPY) == 46
    return lifetimes(RADIOTHERAPY)


def test_the_published_masses(cosmetic):
    steps = turnbull(cosmetic)
    some = {(a, b): m for a, b, m in zip(steps.low, steps.high, steps.mass, strict=True) if m > 1e-4}

    assert some.keys() == MASSES.keys()
    assert [some[pair] for pair in MASSES] == pytest.approx(list(MASSES.values()), abs=5e-5)
    assert steps.mass.sum() == pytest.approx(1)


def test_a_weibull_curve_on_the_same_intervals(cosmetic):
    """Computed independently with the method: shape 1.1204, scale 57.525, -ln L 64.5921."""
    its = weibull(cosmetic)

    assert (its.shape, its.scale) == pytest.approx((1.1204, 57.525), rel=2e-4)
    assert -its.log_likelihood == pytest.approx(64.5921, abs=5e-4)


def test_what_the_data_do_not_say_is_left_open(cosmetic):
    lasting = turnbull(cosmetic).lasting(np.array([0.0, 4.5, 5.0, 20.0, 47.0]))

    assert lasting[0] == 1
    assert np.isnan(lasting[[1, 4]]).all()
    assert lasting[2] == pytest.approx(1 - 0.0463, abs=5e-5)


def test_failures_on_known_days_give_the_plain_shares():
    """Without censoring the estimate is the empirical one."""
    steps = turnbull(lifetimes([(t - 1e-6, t) for t in (1.0, 2.0, 3.0, 4.0)]))

    assert steps.mass == pytest.approx([0.25] * 4)


def test_what_enters_late_counts_among_those_that_lasted_until_then():
    """By hand: of two seen from 0 one fails in (0, 1]; of two seen from 1 on one fails in (1, 2]. Two out of three of
    those alive at 1 last beyond 2 (three at risk, one fails): 1/2 fail first, then a third of the rest.
    """
    its = lifetimes([(0, 1), (2, OPEN), (1, 2), (2, OPEN)], entered=[0, 0, 1, 1])
    steps = turnbull(its)
    some = {(a, b): m for a, b, m in zip(steps.low, steps.high, steps.mass, strict=True) if m > 1e-6}

    assert some[0, 1] == pytest.approx(1 / 2, abs=1e-6)
    assert some[1, 2] == pytest.approx(1 / 6, abs=1e-6)


def test_late_entry_does_not_bend_the_curve():
    """Lives of a known Weibull (shape 2, scale 10), seen from ages up to 8 on every two years: shape and scale return."""
    random = np.random.default_rng(4)
    life, entered = 10 * random.weibull(2, 4000), random.uniform(0, 8, 4000)
    seen = life > entered
    life, entered = life[seen], entered[seen]
    looks, last = np.floor((life - entered) / 2), np.ceil((14 - entered) / 2)  # nobody looks again after age 14 to 16
    low, high = entered + 2 * np.minimum(looks, last), np.where(looks < last, entered + 2 * looks + 2, OPEN)
    its = weibull(Lifetimes(low, high, entered))

    assert its.shape == pytest.approx(2, rel=0.06)
    assert its.scale == pytest.approx(10, rel=0.03)


def test_curves_of_resamples_in_step_are_those_of_one_at_a_time(cosmetic):
    """Each row of weights against the same rows written out, by another way to the maximum."""
    random, many = np.random.default_rng(2), cosmetic.low.size
    drawn = random.integers(0, many, (30, many))
    weights = np.array([np.bincount(rows, minlength=many) for rows in drawn], dtype=np.float64)
    together = weibulls(cosmetic, weights, weibull(cosmetic))

    for rows, its in zip(drawn, together, strict=True):
        alone = weibull(cosmetic.take(rows))
        assert (its.shape, its.scale) == pytest.approx((alone.shape, alone.scale), rel=1e-3)
        assert its.log_likelihood == pytest.approx(alone.log_likelihood, abs=1e-5)
