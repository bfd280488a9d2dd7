"""What intervals with *some* or *none* say of a rate and of how far objects differ: a posterior on a grid, no sampling.

Interval-censored (risk model, section 6): an interval E with an event has the chance 1 - (1 - phi) exp(-rate E), one
without (1 - phi) exp(-rate E); phi is the chance of a false event. Rates of objects differ by a gamma factor of mean 1
and variance kappa, shared by all intervals of an object: nothing over E has the chance (1 + kappa rate E)^(-1/kappa).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import polars as pl

from collection.learning.limits import quantiles
from collection.learning.parameters import Learning
from collection.risk.rate_distribution import rates_of

Array = npt.NDArray[np.float64]
ROWS_AT_ONCE = 100  # objects worked out together: bounds memory
c = pl.col


@dataclass(frozen=True)
class Prior:
    """What is believed before any check: rate [1/year] at even nodes z with its weight, kappa with its own."""

    z: Array
    rate: Array
    weight: Array
    kappa: Array
    kappa_weight: Array

    @classmethod
    def of(cls, years: Sequence[float], figures: Learning) -> "Prior":
        """Three points of years as a two-piece lognormal; half the weight of kappa on 0, the rest on a log grid."""
        z = np.linspace(-figures.widest_z, figures.widest_z, figures.rate_nodes)
        return cls.weighted(z, rates_of(z, years), np.exp(-(z**2) / 2), figures)

    @classmethod
    def weighted(cls, z: Array, rate: Array, weight: Array, figures: Learning) -> "Prior":
        """A prior of any shape: rate and weight at even nodes z."""
        spread = np.geomspace(figures.spread_least, figures.spread_most, figures.spread_nodes)
        alike = figures.no_spread_chance
        shares = np.full(spread.size, (1 - alike) / spread.size)
        kappa, chances = np.concatenate([[0.0], spread]), np.concatenate([[alike], shares])
        return cls(z, rate, weight / weight.sum(), kappa, chances)


@dataclass(frozen=True)
class Evidence:
    """Objects of one cell: years quiet, how many intervals those are, and each interval with an event (0 filled)."""

    quiet: Array
    quiet_intervals: Array
    event_years: Array  # (objects, most_events) [year]
    events: npt.NDArray[np.int64]  # of these, how many are there

    @classmethod
    def of(cls, intervals: pl.DataFrame, count: str, most_events: int) -> "Evidence":
        """From intervals with object_id, starts_on, exposure_years and the flag `count`.

        What comes after the last event that is counted is left out, quiet or not: to drop events alone would make a
        fast rate look slow.
        """
        quiet, event = c("exposure_years").filter(~c(count)), c("exposure_years").filter(c(count))
        ordered = intervals.sort("object_id", "starts_on", "exposure_years")
        before = c(count).cast(pl.Int64).cum_sum().over("object_id") - c(count)
        counted = ordered.filter(before < most_events)
        each = counted.group_by("object_id").agg(quiet=quiet.sum(), intervals=quiet.len(), years=event)
        alike = each.sort("object_id")
        counts = alike["years"].list.len().to_numpy().astype(np.int64)
        filled = np.zeros((alike.height, most_events))
        filled[np.arange(most_events) < counts[:, None]] = alike["years"].explode(empty_as_null=False).to_numpy()
        return cls(alike["quiet"].to_numpy(), alike["intervals"].to_numpy().astype(float), filled, counts)


def posterior(prior: Prior, evidence: Evidence, false_event: float) -> Array:
    """Chance of each (rate, kappa), shape (rates, kappas), sum 1."""
    log = log_likelihood(prior.rate, prior.kappa, evidence, false_event)
    with np.errstate(divide="ignore"):
        joint = log + np.log(prior.weight)[:, None] + np.log(prior.kappa_weight)
    chance = np.exp(joint - joint.max())
    return np.asarray(chance / chance.sum())


def log_likelihood(rate: Array, kappa: Array, evidence: Evidence, false_event: float) -> Array:
    """Logarithm of the chance of what was seen, shape (rates, kappas)."""
    total = np.zeros((rate.size, kappa.size))
    for events in np.unique(evidence.events):
        group = evidence.events == events
        rows = np.column_stack(
            [evidence.quiet[group], evidence.quiet_intervals[group], np.sort(evidence.event_years[group, :events])]
        )
        different, times = np.unique(rows, axis=0, return_counts=True)
        for start in range(0, len(different), ROWS_AT_ONCE):
            some, often = different[start : start + ROWS_AT_ONCE], times[start : start + ROWS_AT_ONCE]
            total += _of_objects(some, often, rate, kappa, false_event)
    return total


def _of_objects(
    rows: Array, times: npt.NDArray[np.signedinteger], rate: Array, kappa: Array, false_event: float
) -> Array:
    """Sum over objects, each so many times; `rows`: quiet years, quiet intervals, years of each event."""
    quiet, intervals, events = rows[:, 0], rows[:, 1], rows[:, 2:]
    true = np.log1p(-false_event)
    # Kappa 0: intervals are independent.
    alike = intervals[:, None] * true - np.outer(quiet, rate)
    missed = (1 - false_event) * np.exp(-events[:, :, None] * rate)
    alike += np.log(np.maximum(1 - missed, np.finfo(float).tiny)).sum(axis=1)
    shared = _log_shared(quiet, events, rate, kappa[kappa > 0], false_event) + (intervals * true)[:, None, None]
    both = np.concatenate([alike[:, :, None], shared], axis=2)
    return np.asarray(np.tensordot(times.astype(float), both, axes=1))


def _log_shared(quiet: Array, events: Array, rate: Array, kappa: Array, false_event: float) -> Array:
    """Logarithm of the alternating sum over subsets of an object's events, shape (objects, rates, kappas).

    Where rounding leaves less than false events alone would give, it is taken as that.
    """
    if not events.shape[1]:
        return _log_quiet(quiet, rate, kappa)
    total = np.zeros((quiet.size, rate.size, kappa.size))
    for subset in _subsets(events.shape[1]):
        chosen = events[:, subset].sum(axis=1)
        weight = (-(1 - false_event)) ** len(subset)
        total += weight * np.exp(_log_quiet(quiet + chosen, rate, kappa))
    log = np.log(np.maximum(total, np.finfo(float).tiny))
    if not false_event:
        return np.asarray(log)
    return np.asarray(np.maximum(log, events.shape[1] * np.log(false_event) + _log_quiet(quiet, rate, kappa)))


def _log_quiet(years: Array, rate: Array, kappa: Array) -> Array:
    """Logarithm of the chance of nothing over so many years, shape (objects, rates, kappas)."""
    return np.asarray(-np.log1p(years[:, None, None] * rate[:, None] * kappa) / kappa)


def _subsets(events: int) -> list[list[int]]:
    return [[i for i in range(events) if n >> i & 1] for n in range(2**events)]


@dataclass(frozen=True)
class LearnedRate:
    """short, likely, long [year]: lower limit, median, upper limit; mean_rate [1/year]; spread: mean of kappa."""

    short: float
    likely: float
    long: float
    mean_rate: float
    chance_of_spread: float
    spread: float


def summary(prior: Prior, chance: Array, figures: Learning) -> LearnedRate:
    """What a posterior of shape (rates, kappas) comes to."""
    of_rate, of_kappa = chance.sum(axis=1), chance.sum(axis=0)
    with np.errstate(divide="ignore"):
        z = quantiles(prior.z, of_rate, figures.points)
    short, likely, long = sorted(1 / np.exp(np.interp(z, prior.z, np.log(prior.rate))))
    mean, spread = float(of_rate @ prior.rate), float(of_kappa @ prior.kappa)
    return LearnedRate(
        float(short), float(likely), float(long), mean, float(1 - of_kappa[prior.kappa == 0].sum()), spread
    )
