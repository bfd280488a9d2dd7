"""Hours that a treatment is planned with: the mean of its three estimates, times what finished ones taught."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist, mean, stdev

import polars as pl

from collection.frames import returns
from collection.plan.parameters import Planning
from collection.risk.years import LIMIT_90

# Estimates of one option [h]; first_step: the first step of its treatment, by which hours are learned.
ESTIMATES = pl.Schema(
    {"option_id": pl.String, "first_step": pl.String}
    | dict.fromkeys(("hours_low", "hours_likely", "hours_high", "tests_hours"), pl.Float64)
)
# Hours worked and hours planned of one finished treatment.
FINISHED = pl.Schema({"first_step": pl.String, "hours": pl.Float64, "planned_hours": pl.Float64})
# Hours to plan with, null where nobody estimated any; one_figure: only the likely hours are known, or can be used.
PLANNED_HOURS = pl.Schema(
    {"option_id": pl.String, "hours": pl.Float64, "documentation_hours": pl.Float64, "one_figure": pl.Boolean}
)
# What finished treatments taught: times [factor] is what hours took against the plan, on the average of logarithms.
LEARNED_HOURS = pl.Schema({"first_step": pl.String, "n": pl.UInt32, "times": pl.Float64, "factor": pl.Float64})
c = pl.col


@dataclass(frozen=True)
class LearnedFactor:
    """Factor on hours, with the weight of the museum's own treatments in it."""

    weight: float
    factor: float


def mean_hours(low: float, likely: float, high: float) -> float:
    """Mean of the two-piece lognormal through three estimates [h] as 5th, 50th, 95th percentile: 2, 4, 10: 4.794549."""
    below, above = math.log(likely / low) / LIMIT_90, math.log(high / likely) / LIMIT_90
    phi = NormalDist().cdf
    return (math.exp(below**2 / 2) * phi(-below) + math.exp(above**2 / 2) * phi(above)) * likely


def learned_factor(ratios: Sequence[float], figures: Planning) -> LearnedFactor:
    """What hours of the next treatment are to be multiplied by, from ln(hours worked / hours planned) of finished ones.

    Five that took 1.4 times the plan: weight 0.642857, factor 1.429572. None finished: factor 1.
    """
    n = len(ratios)
    if not n:
        return LearnedFactor(0.0, 1.0)
    spread = stdev(ratios) if n >= figures.sd_learned_from else figures.hours_sd
    between, within = figures.hours_between**2, spread**2
    weight = n * between / (n * between + within)
    return LearnedFactor(weight, math.exp(weight * mean(ratios) + within / 2 + between * (1 - weight) / 2))


@returns(LEARNED_HOURS)
def learned_hours(finished: pl.DataFrame, figures: Planning) -> pl.DataFrame:
    """Bias of past estimates and the factor from it, for each first step, schema LEARNED_HOURS.

    finished : schema FINISHED; rows without both hours say nothing.
    """
    known = finished.filter(c("hours") > 0, c("planned_hours") > 0)
    ratio = (c("hours") / c("planned_hours")).log()
    steps = known.group_by("first_step").agg(ratios=ratio).sort("first_step")
    rows = [
        (step, len(ratios), math.exp(mean(ratios)), learned_factor(ratios, figures).factor)
        for step, ratios in steps.iter_rows()
    ]
    return pl.DataFrame(rows, schema=LEARNED_HOURS, orient="row")


@returns(PLANNED_HOURS)
def planned_hours(estimates: pl.DataFrame, learned: pl.DataFrame, figures: Planning) -> pl.DataFrame:
    """Hours to plan each option with, schema PLANNED_HOURS: mean x learned factor + tests, and documentation once.

    estimates : schema ESTIMATES. learned : schema LEARNED_HOURS; a step nobody finished has factor 1.
    """
    factors = dict(learned.select("first_step", "factor").iter_rows())
    rows = [_planned(row, factors.get(row["first_step"], 1.0), figures) for row in estimates.iter_rows(named=True)]
    return pl.DataFrame(rows, schema=PLANNED_HOURS, orient="row")


def _planned(row: dict[str, float], factor: float, figures: Planning) -> tuple[object, ...]:
    low, likely, high = (row[name] for name in ("hours_low", "hours_likely", "hours_high"))
    if likely is None:
        return row["option_id"], None, None, False
    one_figure = low is None or high is None or not 0 < low <= likely <= high
    middle = likely if one_figure else mean_hours(low, likely, high)
    hours = middle * factor + (row["tests_hours"] or 0.0)
    documentation = figures.documentation_share * hours
    return row["option_id"], hours + documentation, documentation, one_figure
