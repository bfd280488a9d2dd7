"""Learned rates against worked cases, closed forms and laws."""

import itertools
from datetime import date

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats
from scipy.optimize import brentq

from collection.learning.learned import counted_rate, learned_losses, learned_new_damage, learned_rate
from collection.learning.limits import count_limits, gamma_points, share_limits
from collection.learning.new_damage import NEW_DAMAGE
from collection.learning.parameters import learning, lines
from collection.learning.posterior import Evidence, Prior, log_likelihood, posterior, summary
from tests.collection.learning.builders import ALIKE, evidence, intervals
from tests.collection.risk.builders import starting_values

FIGURES = learning()
TEN = (3.0, 10.0, 30.0)
NONE = evidence((0.0, 0, ()))


def mixture(events, quiet, shape=2, rate=60.0):
    """The exact posterior of a gamma prior: an alternating sum of gammas over subsets of the events."""
    terms = [
        ((-1) ** n * (rate + quiet + sum(chosen)) ** -shape, rate + quiet + sum(chosen))
        for n in range(len(events) + 1)
        for chosen in itertools.combinations(events, n)
    ]
    total = sum(weight for weight, _ in terms)
    mean = sum(weight * shape / b for weight, b in terms) / total
    below = lambda x: sum(w * stats.gamma.cdf(x, shape, scale=1 / b) for w, b in terms) / total  # noqa: E731
    return mean, [brentq(lambda x, p=p: below(x) - p, 1e-6, 2) for p in (0.05, 0.5, 0.95)]


def test_a_gamma_prior_gives_the_exact_expansion():
    """Worked case of the design; its two limits, 0.018738 and 0.087149, are 0.25 % low: this is the exact sum."""
    z = np.linspace(-8, 3, FIGURES.rate_nodes)
    rate = 0.05 * np.exp(z)
    prior = Prior.weighted(z, rate, rate**2 * np.exp(-60 * rate), ALIKE)
    seen = evidence((40.0, 0, ()), *((0.0, 0, (years,)) for years in (2.0, 3.0, 5.0)))

    learned = summary(prior, posterior(prior, seen, 0.0), ALIKE)

    mean, (low, middle, high) = mixture((2, 3, 5), 40)
    assert mean == pytest.approx(0.047701287, abs=5e-10)
    assert learned.mean_rate == pytest.approx(mean, rel=1e-9)
    assert (1 / learned.long, 1 / learned.likely, 1 / learned.short) == pytest.approx((low, middle, high), rel=5e-5)
    assert (low, high) == pytest.approx((0.018738, 0.087149), rel=3e-3)
    assert pytest.approx(0.045455, abs=5e-7) == 5 / 110  # events over years, the naive way


def test_four_events_and_thirty_quiet_years():
    """Worked case of the design."""
    seen = evidence((30.0, 0, ()), *((0.0, 0, (2.0,)) for _ in range(4)))

    learned = learned_rate(TEN, seen, 0.0, ALIKE)

    assert learned.mean_rate == pytest.approx(0.114539, abs=2e-6)
    assert (learned.short, learned.likely, learned.long) == pytest.approx((4.891, 9.415, 19.282), abs=2e-3)


@pytest.mark.parametrize("years", [TEN, (1.0, 3.0, 10.0), (10.0, 30.0, 300.0), (300.0, 1000.0, 1000.0)])
def test_no_data_give_back_the_starting_values(years):
    learned = learned_rate(years, NONE, 0.001, FIGURES)
    short, likely, long = years

    assert (learned.short, learned.likely) == pytest.approx((short, likely), rel=1e-4)
    assert learned.long == pytest.approx(long if long > likely else likely**2 / short, rel=1e-4)
    assert learned.chance_of_spread == pytest.approx(0.5)


def test_objects_share_a_gamma_factor():
    """Worked case of the design: rate 0.1, kappa 1, quiet 6, one event in 3."""
    log = log_likelihood(np.array([0.1]), np.array([0.0, 1.0]), evidence((6.0, 0, (3.0,))), 0.0)

    assert np.exp(log[0, 1]) == pytest.approx(0.0986842, abs=5e-8)
    assert np.exp(log[0, 0]) == pytest.approx(np.exp(-0.6) * (1 - np.exp(-0.3)))


@pytest.mark.parametrize("kappa", [0.05, 1.0, 8.0])
@pytest.mark.parametrize("events", [(3.0,), (1.0, 2.0), (1.0,) * 4, (0.5, 1.0, 2.0, 1.0, 1.0, 3.0)])
def test_the_sum_over_subsets_is_the_mean_over_the_factor(kappa, events):
    phi, rate, quiet = 0.001, 0.3, 5.0
    u = (np.arange(400_000) + 0.5) / 400_000
    factor = stats.gamma.ppf(u, 1 / kappa, scale=kappa)
    chance = np.prod([1 - (1 - phi) * np.exp(-rate * factor * e) for e in events], axis=0)
    exact = float(np.mean(chance * np.exp(-rate * factor * quiet)) * (1 - phi) ** 3)

    log = log_likelihood(np.array([rate]), np.array([0.0, kappa]), evidence((quiet, 3, events)), phi)

    assert np.exp(log[0, 1]) == pytest.approx(exact, rel=1e-3)


def test_rounding_leaves_no_less_than_false_events_give():
    log = log_likelihood(np.array([1e-9]), np.array([0.0, 0.05]), evidence((1.0, 1, (1.0,) * 6)), 0.001)

    assert np.isfinite(log).all()
    assert log[0, 1] >= 6 * np.log(0.001) - 0.01


def test_the_chance_of_a_false_event_by_error_alone():
    """4.37 standard errors of a difference of two equal errors, one-sided: 0.1 %."""
    assert lines().growth_beyond == pytest.approx(4.370, abs=5e-4)
    assert stats.norm.sf(lines().growth_beyond / np.sqrt(2)) == pytest.approx(0.00100, abs=5e-6)
    both = stats.multivariate_normal([0, 0], [[2, 1], [1, 2]])
    assert both.cdf([-lines().growth_twice_beyond] * 2) == pytest.approx(0.001, abs=2e-4)


BIAS = [  # check interval over years to the next loss: what the two naive rates give, over the true one
    (0.01, 0.995, 1.000), (0.1, 0.952, 0.999), (0.2, 0.906, 0.997), (1 / 3, 0.850, 0.991), (2 / 3, 0.730, 0.965),
    (1, 0.632, 0.924), (2, 0.432, 0.762), (3, 0.317, 0.603),
]  # fmt: skip


@pytest.mark.parametrize(("x", "naive", "midpoint"), BIAS)
def test_counting_events_over_years_is_biased_and_the_posterior_is_not(x, naive, midpoint):
    """Closed forms (1 - exp(-x))/x and tanh(x/2)/(x/2); the grid's likelihood peaks at the true rate."""
    assert (1 - np.exp(-x)) / x == pytest.approx(naive, abs=6e-4)
    assert np.tanh(x / 2) / (x / 2) == pytest.approx(midpoint, abs=6e-4)
    objects, rate = 100_000, np.linspace(0.5 * x, 1.5 * x, 1001)
    share = 1 - np.exp(-x)
    log = share * np.log(1 - np.exp(-rate)) - (1 - share) * rate  # interval 1, this share with an event
    assert rate[np.argmax(objects * log)] == pytest.approx(x, rel=2e-3)


@settings(max_examples=25, deadline=None)
@given(
    quiet=st.floats(0, 200), more=st.floats(0, 200), events=st.lists(st.floats(0.1, 10), max_size=6),
    years=st.sampled_from([TEN, (1.0, 3.0, 10.0), (10.0, 30.0, 300.0)]),
)  # fmt: skip
def test_more_quiet_years_never_raise_the_mean_rate(quiet, more, events, years):
    first = learned_rate(years, evidence((quiet, 1, events)), 0.001, ALIKE)
    second = learned_rate(years, evidence((quiet, 1, events), (more, 1, ())), 0.001, ALIKE)

    assert second.mean_rate <= first.mean_rate * (1 + 1e-9)


@settings(max_examples=20, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 5), st.integers(1, 9), st.booleans()), min_size=1, max_size=15), st.randoms())
def test_row_order_changes_nothing(rows, chance):
    frame = intervals(*({"object_id": str(o), "exposure_years": float(y), "loss_event": e} for o, y, e in rows))
    order = list(range(frame.height))
    chance.shuffle(order)

    both = [learned_losses(f, starting_values()) for f in (frame, frame[order])]

    assert both[0].equals(both[1]) or np.allclose(*(f.drop("cell").to_numpy() for f in both), rtol=1e-9)


def test_after_the_last_event_that_is_counted_nothing_is():
    years = range(2000, 2012)
    rows = [{"starts_on": date(y, 1, 1), "exposure_years": 1.0, "loss_event": y % 2 == 0 or y > 2004} for y in years]
    frame = intervals(*rows, {"starts_on": date(2013, 1, 1), "exposure_years": 50.0})

    seen = Evidence.of(frame, "loss_event", 6)

    assert (seen.events.tolist(), seen.quiet.tolist(), seen.quiet_intervals.tolist()) == ([6], [2.0], [2.0])


def test_what_was_handled_or_is_not_known_says_nothing_at_rest():
    quiet = {"exposure_years": 4.0}
    frame = intervals(quiet, quiet | {"loss_event": True, "handled": True}, quiet | {"loss_event": None})

    row = learned_losses(frame, starting_values()).row(0, named=True)

    assert (row["events"], row["intervals"], row["exposure_years"]) == (0, 1, 4.0)


def test_counted_events_are_exact():
    """Gelman and others, Bayesian Data Analysis, section 2.6: Gamma(3, 5), three deaths in 2.0, gives Gamma(6, 7)."""
    mean, low, middle, high = counted_rate(3, 5, 3, 2.0)

    assert mean == pytest.approx(0.857, abs=5e-4)
    assert (low, middle, high) == pytest.approx(stats.gamma.ppf([0.05, 0.5, 0.95], 6, scale=1 / 7), rel=1e-10)


@pytest.mark.parametrize("shape", [0.5, 1, 6, 33, 400])
def test_gamma_quantiles(shape):
    exact = stats.gamma.ppf([0.05, 0.5, 0.95], shape, scale=0.1)

    assert gamma_points(shape, 10, [0.05, 0.5, 0.95]) == pytest.approx(exact, rel=1e-10)


GARWOOD = [
    (0, 0, 3.68888),
    (1, 0.025318, 5.571643),
    (3, 0.618672, 8.767273),
    (5, 1.623486, 11.668332),
    (10, 4.795389, 18.390356),
]


@pytest.mark.parametrize(("events", "low", "high"), GARWOOD)
def test_limits_of_a_count(events, low, high):
    """Garwood, Biometrika 28 (1936), exact limits at 95 %."""
    assert count_limits(events, 0.95) == pytest.approx((low, high), abs=1.5e-6)


@pytest.mark.parametrize(("events", "of"), [(0, 10), (1, 10), (5, 10), (10, 10), (3, 400)])
def test_limits_of_a_share(events, of):
    """Clopper and Pearson, Biometrika 26 (1934)."""
    exact = stats.binomtest(events, of).proportion_ci(0.9, "exact")

    assert share_limits(events, of, 0.9) == pytest.approx((exact.low, exact.high), rel=1e-10, abs=1e-9)


def test_new_damage_without_a_year_looked_at_has_no_rate():
    import polars as pl

    assert learned_new_damage(pl.DataFrame(schema=NEW_DAMAGE)).is_empty()


@pytest.mark.parametrize(("shape", "rate", "above"), [(6, 7, 0.3007), (33, 25, 0.9285)])
def test_deaths_from_asthma(shape, rate, above):
    """Gelman and others, Bayesian Data Analysis, section 2.6 (from memory, computed apart): chance of a rate above 1."""
    assert gamma_points(shape, rate, [1 - above]).item() == pytest.approx(1.0, abs=2e-4)


def test_no_loss_in_ten_years_with_a_prior_that_says_little():
    """Jeffreys prior, gamma(1/2, 10): upper 95 % limit 0.19207 (computed apart)."""
    assert gamma_points(0.5, 10, [0.95]).item() == pytest.approx(0.19207, abs=5e-6)
