"""How long repairs last, by material and function: from when each was first seen, failures between two looks."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import polars as pl
from scipy.optimize import brentq
from scipy.stats import chi2

from collection.frames import returns
from collection.risk.parameters import DAYS_A_YEAR
from collection.snapshot import Collection
from collection.trends.grades import HUNDRED, Rate
from collection.trends.parameters import Trends
from collection.trends.turnbull import Array, Lifetimes, Steps, Weibull, turnbull, weibull, weibulls
from schemas.vocabularies import vocabulary

LIVES = pl.Schema(
    dict.fromkeys(("repair_id", "object_id", "material", "function"), pl.String)
    | {"dated": pl.Boolean, "low": pl.Float64, "high": pl.Float64, "entered": pl.Float64}
)
MONTHS = 12  # in a year
SMALLEST, LARGEST = 1e-9, 1e3  # rates between which the limits are looked for [1/year]
c = pl.col


@dataclass(frozen=True)
class Curve:
    """years : ages; lasting : share that lasts (not a number where the data do not say), with its band; observed: how
    many were under observation; ends : age beyond which nothing can be said, since too few were watched that long.
    """

    steps: Steps
    weibull: Weibull
    years: Array
    lasting: Array
    low: Array
    high: Array
    observed: Array
    ends: float
    repairs: int
    failures: int
    method: str = "Turnbull's estimate with late entry, band from resampled objects; Weibull on the same intervals"


@returns(LIVES)
def lives(collection: Collection, rows: pl.DataFrame) -> pl.DataFrame:
    """Repairs that held when they were first assessed, schema LIVES; `rows`: schema VISITS.

    dated : the day it was made is known, and ages count from its middle; else they count from when it was first seen,
    and it is in no curve. A repair dated after it was first seen enters at age 0. high : infinite where it still held
    when it was last assessed, whatever became of it then: what is removed is often what people distrust.
    """
    each = _first_and_last(collection, rows)
    held = each.filter(c("first_on").is_not_null() & (c("failed_on").is_null() | (c("first_on") < c("failed_on"))))
    joined = collection["repair"].join(held, on="repair_id")
    middle = c("done_on_earliest") + (c("done_on_latest") - c("done_on_earliest")) / 2
    begun = pl.min_horizontal(middle, "first_on").fill_null(c("first_on"))
    aged = joined.with_columns(dated=middle.is_not_null(), begun=begun)

    def age(day: str) -> pl.Expr:
        return (c(day) - c("begun")).dt.total_days() / DAYS_A_YEAR

    ages = {"low": age("last_on"), "high": age("failed_on").fill_null(np.inf), "entered": age("first_on")}
    return aged.with_columns(**ages).select(
        c(n).cast(t) for n, t in LIVES.items()
    ).sort("repair_id")  # fmt: skip


def _first_and_last(collection: Collection, rows: pl.DataFrame) -> pl.DataFrame:
    """repair_id, first_on, last_on seen to hold, failed_on of each repair, by thorough checks."""
    stability = vocabulary("stability")
    thorough = rows.filter("thorough").select("check_id", "seen_on")
    states = collection["repair_state"].join(thorough, on="check_id").sort("seen_on")
    holds, fails = (c("stability").is_in(stability.terms_where(flag)) for flag in ("at_rest", "spoils"))
    failed_on = c("seen_on").filter(fails).min()
    return states.group_by("repair_id").agg(
        first_on=c("seen_on").filter(holds).min(),
        last_on=c("seen_on").filter(holds & (c("seen_on") < failed_on).fill_null(value=True)).max(),
        failed_on=failed_on,
    )


FAILURES = pl.Schema({"repair_id": pl.String, "failed": pl.Boolean})


@returns(FAILURES)
def failures(collection: Collection, rows: pl.DataFrame, year: int) -> pl.DataFrame:
    """Repairs assessed in a year that had held at an earlier check and not failed before it, schema FAILURES.

    rows : schema VISITS. failed : first seen in that year to let go, to have failed or to do harm.
    """
    thorough = rows.filter("thorough", c("seen_on").dt.year() == year).select("check_id", "seen_on")
    assessed = collection["repair_state"].join(thorough, on="check_id").group_by("repair_id").agg(c("seen_on").max())
    each = assessed.join(_first_and_last(collection, rows), on="repair_id")
    before = c("failed_on").is_null() | (c("failed_on").dt.year() >= year)
    watched = each.filter(c("first_on") < c("seen_on"), before)
    failed = (c("failed_on").dt.year() == year).fill_null(value=False)
    return watched.select("repair_id", failed=failed).sort("repair_id")


def curve(rows: pl.DataFrame, figures: Trends, seed: int = 0) -> Curve | str:
    """How long these repairs last, or why no curve is drawn; `rows`: schema LIVES."""
    dated = rows.filter("dated")
    failures = dated.filter(c("high").is_finite()).height
    if dated.height < figures.repairs_fewest or failures < figures.failures_fewest:
        return (
            f"it takes {figures.repairs_fewest} repairs with a date of making ({dated.height} here) and"
            f" {figures.failures_fewest} failures ({failures} here)"
        )
    its = lifetimes(dated)
    last = np.where(np.isfinite(its.high), its.high, its.low)
    years = np.arange(0.0, np.ceil(last.max()) + 1)
    observed = ((its.entered[:, None] <= years) & (last[:, None] >= years)).sum(axis=0)
    few = np.flatnonzero(observed < figures.observed_fewest)
    ends = float(years[few[0]] - 1) if few.size else float(years[-1])
    within = int((np.isfinite(its.high) & (its.low < ends)).sum())
    if within < figures.failures_fewest:
        return (
            f"{within} of {failures} failures came while {figures.observed_fewest} or more were under observation from"
            f" the start, {figures.failures_fewest} are needed for a curve"
        )
    of_all = weibull(its)
    band = _band(dated, years, of_all, figures, seed)
    by_month, rows_of = _by_month(its)
    steps = turnbull(by_month, np.bincount(rows_of).astype(np.float64))
    return Curve(
        steps, of_all, years, steps.lasting(years), *band, observed.astype(np.float64), ends, dated.height, failures
    )


def _by_month(its: Lifetimes) -> tuple[Lifetimes, npt.NDArray[np.int64]]:
    """Ages to the month, each row once, and which row each repair has: nobody sees closer, and days are no steps."""
    months = np.round(np.column_stack([its.low, its.high, its.entered]) * MONTHS)
    months[:, 1] = np.maximum(months[:, 1], months[:, 0] + 1)
    rows, rows_of = np.unique(months, axis=0, return_inverse=True)
    return Lifetimes(*(rows / MONTHS).T), rows_of.ravel()


def lifetimes(rows: pl.DataFrame) -> Lifetimes:
    """Rows of schema LIVES as arrays."""
    return Lifetimes(*(rows[n].to_numpy() for n in ("low", "high", "entered")))


def _band(rows: pl.DataFrame, years: Array, near: Weibull, figures: Trends, seed: int) -> tuple[Array, Array]:
    """Limits of the share that lasts from Weibull curves of resampled objects: these have a value at every age."""
    random, tail = np.random.default_rng(seed), (1 - figures.rate_limits) / 2
    its, rows_of = _by_month(lifetimes(rows))
    objects = rows["object_id"].rank("dense").to_numpy().astype(np.int64) - 1
    many = int(objects.max()) + 1
    times = random.multinomial(many, np.full(many, 1 / many), figures.resamples).astype(np.float64)[:, objects]
    in_turn = np.argsort(rows_of, kind="stable")
    first = np.searchsorted(rows_of[in_turn], np.arange(its.low.size))
    shared = np.add.reduceat(times[:, in_turn], first, axis=1)  # of each row, how often its repairs were drawn
    some = shared[shared[:, np.isfinite(its.high)].any(axis=1)]
    drawn = [its_curve.lasting(years) for its_curve in weibulls(its, some, near)]
    low, high = np.quantile(np.array(drawn), [tail, 1 - tail], axis=0)
    return low, high


def failure_rate(rows: pl.DataFrame, figures: Trends) -> Rate:
    """Failures per 100 repair-years since each was first seen, where the day of failure lies between two looks.

    Greatest likelihood of one rate for all, limits by the likelihood ratio; `rows`: schema LIVES.
    """
    its = lifetimes(rows)
    low, high = its.low - its.entered, its.high - its.entered
    failed = np.isfinite(high)
    span = (high - low)[failed]
    years, events = float(low.sum() + span.sum() / 2), int(failed.sum())
    if not years:
        return Rate(None, None, None, events, years, "nobody looked twice")
    value, lower, upper = _one_rate(float(low.sum()), span, figures.rate_limits)
    method = "one rate for all, failures between two looks; limits by the likelihood ratio"
    return Rate(HUNDRED * value, HUNDRED * lower, HUNDRED * upper, events, years, None, method)


def _one_rate(held: float, span: Array, chance: float) -> tuple[float, float, float]:
    """The rate [1/year] of greatest likelihood and its limits: `held` years without failure, each failure in a span."""

    def log(rate: float) -> float:
        return float(np.log(-np.expm1(-rate * span)).sum() - rate * held)

    def slope(rate: float) -> float:
        return float((span / np.expm1(np.minimum(rate * span, LARGEST / 2))).sum() - held)

    best = float(brentq(slope, SMALLEST, LARGEST)) if span.size and slope(LARGEST) < 0 < slope(SMALLEST) else 0.0
    least = (log(best) if best else 0.0) - chi2.ppf(chance, 1) / 2

    def above(rate: float) -> float:
        return float(log(rate) - least)

    lower = float(brentq(above, SMALLEST, best)) if best and above(SMALLEST) < 0 else 0.0
    return best, lower, float(brentq(above, max(best, SMALLEST), LARGEST))


def half_sentence(its: Curve, what: str) -> str:
    """*Half of the 42 wax fills had failed by 12 to 15 years; nothing can be said beyond 21 years ...*"""
    lasting = 1 - np.cumsum(its.steps.mass)
    past = np.flatnonzero(lasting <= 1 / 2)
    beyond = f"nothing can be said beyond {its.ends:.0f} years, where fewer were under observation"
    if not past.size or not np.isfinite(its.steps.high[past[0]]) or its.steps.low[past[0]] > its.ends:
        return f"Of {its.repairs} {what} {its.failures} failed, fewer than half by when they were last seen; {beyond}."
    at = past[0]
    between = f"{its.steps.low[at]:.0f} to {its.steps.high[at]:.0f} years"
    return f"Half of the {its.repairs} {what} had failed by {between}; {beyond}."
