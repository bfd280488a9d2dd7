"""A decline nobody sees and gradings that stray, by hand and simulated; grades carried on, of a textbook's bridge decks."""

import math
from itertools import product

import numpy as np
import polars as pl
import pytest
from scipy.linalg import expm
from scipy.stats import norm

from collection.trends.fit import Layout, fit, headline, worse_within
from collection.trends.grades import TRANSITIONS
from collection.trends.hidden_grades import chances, project, step_matrix, written, written_slopes
from collection.trends.likelihood import GRADED, Histories, Model, log_likelihood
from collection.trends.parameters import trends

START = np.array([0.5, 0.3, 0.15, 0.05])
RATES = np.array([0.1, 0.05, 0.2])
NINE_IN_TEN = np.array([[0.9, 0.1, 0, 0], [0.1, 0.8, 0.1, 0], [0, 0.1, 0.8, 0.1], [0, 0, 0.1, 0.9]])
SEEN = [(0, 0.0, 0, 0), (0, 2.0, 0, 1), (0, 5.0, 0, 0)]  # good, fair, good at 0, 2 and 5 years
# Textbook exercise (urban Interstate bridge decks, five states); read from a web page, worked out by hand.
DECKS = np.array([1771.0, 2751.0, 1771.0, 578.0, 0.0])
YEARLY = np.array(
    [[0.6, 0.3, 0.1, 0, 0], [0, 0.7, 0.2, 0.1, 0], [0, 0, 0.6, 0.3, 0.1], [0, 0, 0, 0.7, 0.3], [0, 0, 0, 0, 1]]
)


def rows(*graded: tuple[int, float, int, int]) -> pl.DataFrame:
    return pl.DataFrame(list(graded), schema=GRADED, orient="row")


def generator(rates: np.ndarray) -> np.ndarray:
    q = np.zeros((rates.size + 1, rates.size + 1))
    for i, rate in enumerate(rates):
        q[i, i], q[i, i + 1] = -rate, rate
    return q


def test_good_fair_good_by_hand():
    """Design of the register, worked case; and the sum over all 64 paths of true grades."""
    value, _, ends = log_likelihood(Histories.of(rows(*SEEN)), Model(START, RATES, NINE_IN_TEN[None]))

    first, second = expm(2 * generator(RATES)), expm(3 * generator(RATES))
    paths = sum(
        START[a] * NINE_IN_TEN[a, 0] * first[a, b] * NINE_IN_TEN[b, 1] * second[b, d] * NINE_IN_TEN[d, 0]
        for a, b, d in product(range(4), repeat=3)
    )
    assert math.exp(value) == pytest.approx(0.0326531444, abs=5e-11)
    assert math.exp(value) == pytest.approx(paths, rel=1e-12)
    assert ends[0] == pytest.approx([0.752286, 0.247714, 0, 0], abs=5e-7)


def test_chances_over_two_years():
    assert chances(RATES, np.array([2.0]))[0, 0] == pytest.approx([0.818731, 0.172213, 0.007934, 0.001122], abs=5e-7)


@pytest.mark.parametrize("rates", [RATES, [0.1, 0.1, 0.1], [0.3, 1e-6, 0.3]])
def test_chances_are_the_exponential_of_the_generator(rates):
    """Reference: `scipy.linalg.expm`, also where rates are equal."""
    for years in (0.0, 0.5, 7.0):
        got = chances(np.array(rates), np.array([years]))[0]
        assert got == pytest.approx(expm(years * generator(np.array(rates))), abs=5e-5)
        assert got.sum(axis=1) == pytest.approx(1, abs=1e-6)


def test_a_strict_examiner_by_hand():
    """delta 1, sigma 1/2: a true good is graded .158655 .682689 .157305 .001350 (normal table)."""
    assert written(1, 0.5, 4)[0] == pytest.approx([0.158655, 0.682689, 0.157305, 0.001350], abs=5e-7)
    assert written(0.3, 0.4, 4)[2, 1] == pytest.approx(norm.cdf((1.5 - 2 - 0.3) / 0.4) - norm.cdf((0.5 - 2.3) / 0.4))


def test_slopes_agree_with_differences():
    random, step = np.random.default_rng(1), 1e-6
    graded = rows(
        *(
            (h, float(y), int(random.integers(2)), int(random.integers(4)))
            for h in range(15)
            for y in random.uniform(0, 9, 3)
        )
    )
    histories, layout = Histories.of(graded), Layout(4, 2, 0)
    theta = np.array([-2.0, -3.0, -1.5, 0.4, -0.7, -0.4, 0.5, 0.2, -0.3])
    _, gradient, _ = layout.gradient(theta, histories)

    for i in range(theta.size):
        d = np.zeros(theta.size)
        d[i] = step
        up, down = (layout.gradient(t, histories)[0] for t in (theta + d, theta - d))
        assert gradient[i] == pytest.approx((up - down) / (2 * step), rel=1e-4, abs=1e-6)
    by_strictness, _ = written_slopes(0.4, 0.5, 4)
    assert by_strictness == pytest.approx(
        (written(0.4 + step, 0.5, 4) - written(0.4 - step, 0.5, 4)) / (2 * step), abs=1e-8
    )


def simulated(seed: int, objects: int = 640, checks: int = 5) -> tuple[Histories, np.ndarray]:
    """Histories with known figures, examiner 2 most of a grade too strict; and the true grades at the end."""
    random = np.random.default_rng(seed)
    days = np.sort(random.integers(0, 4380, (objects, checks)), axis=1) / 365.25
    tables = np.array([written(d, s, 4) for d, s in zip(STRICTNESS, NOISE, strict=True)])
    true, lines = random.choice(4, objects, p=START), []
    for nth in range(checks):
        if nth:
            moved = chances(TRUE_RATES, days[:, nth] - days[:, nth - 1])[np.arange(objects), true]
            true = _drawn(random, moved)
        who = random.integers(0, 3, objects)
        grade = _drawn(random, tables[who, true])
        lines += zip(range(objects), days[:, nth].tolist(), who.tolist(), grade.tolist(), strict=True)
    return Histories.of(rows(*lines)), true


def _drawn(random: np.random.Generator, chance: np.ndarray) -> np.ndarray:
    return (random.random(len(chance))[:, None] > chance.cumsum(axis=1)[:, :-1]).sum(axis=1)


TRUE_RATES = np.array([0.04, 0.06, 0.1])


STRICTNESS, NOISE = (0.0, 0.0, 0.9), (0.4, 0.5, 0.6)


def test_known_figures_come_back():
    """640 objects x 5 checks, twelve runs: headline within 25 % in at least 11, the strict examiner's limits hold in 9."""
    layout, near, hold = Layout(4, 3, 0), 0, 0
    start = np.array([-3.0, -3, -3, 0, 0, -0.7, -0.7, -0.7, 1, 1, 1])
    for seed in range(12):
        histories, true = simulated(seed)
        fitted = fit(histories, layout, start, trends())
        value, low, high = headline(fitted, histories, 5, 1.96)
        stay = np.diag(chances(TRUE_RATES, np.array([5.0]))[0])
        worse = 1 - (np.bincount(true, minlength=4) / true.size) @ stay
        near += abs(value / worse - 1) <= 0.25
        strict, spread = fitted.theta[4], math.sqrt(fitted.covariance[4, 4])
        hold += abs(strict - STRICTNESS[2]) <= 1.96 * spread
        assert low < value < high
    assert near >= 11
    assert hold >= 9


def test_a_known_day_of_the_last_grade_is_a_density():
    """Exponential waiting: one object, good at 0, seen to enter the next grade on a known day t: q exp(-q t)."""
    histories = Histories.of(rows((0, 0.0, 0, 0), (0, 3.0, 0, 1)), first_is_true=True, entered=frozenset({0}))
    value, slopes, _ = log_likelihood(histories, Model(np.array([1.0, 0.0]), np.array([0.2]), np.eye(2)[None]))

    assert math.exp(value) == pytest.approx(0.2 * math.exp(-0.6))
    assert slopes.log_rates[0] == pytest.approx(1 - 0.6, abs=1e-6)


def test_a_mix_that_is_all_worst_cannot_get_worse():
    assert worse_within(Model(START, RATES, NINE_IN_TEN[None]), np.array([0, 0, 0, 1.0]), 5) == pytest.approx(0)


@pytest.mark.parametrize(
    ("years", "decks"),
    [
        (0, (1771, 2751, 1771, 578, 0)),
        (1, (1062.600, 2457.000, 1789.900, 1211.000, 350.500)),
        (2, (637.56, 2038.68, 1671.60, 1630.37, 892.79)),
        (3, (382.536, 1618.344, 1474.452, 1846.607, 1549.061)),
        (4, (229.522, 1247.602, 1246.594, 1896.795, 2250.488)),
    ],
)
def test_a_cohort_of_6871_bridge_decks(years, decks):
    assert project(DECKS, YEARLY, years) == pytest.approx(decks, abs=6e-4)
    assert project(DECKS, YEARLY, years).sum() == pytest.approx(6871)


def test_rows_and_columns_exchanged_are_refused():
    with pytest.raises(ValueError, match="add up to"):
        project(DECKS, YEARLY.T, 4)


def transitions_of(counts: list[list[int]]) -> pl.DataFrame:
    rows = [(i, j, n, sum(row)) for i, row in enumerate(counts) for j, n in enumerate(row)]
    return pl.DataFrame(rows, schema=TRANSITIONS, orient="row")


def test_chances_are_counts_over_their_row():
    matrix = step_matrix(transitions_of([[3, 1], [0, 5]]))

    assert matrix == pytest.approx(np.array([[0.75, 0.25], [0, 1]]))


def test_a_grade_nobody_began_with_gives_no_matrix():
    assert "were nobody's at the start" in str(step_matrix(transitions_of([[3, 1], [0, 0]])))
