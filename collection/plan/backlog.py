"""Work waiting, year by year: what comes in as a compound Poisson, what is done, and when it starts to shrink."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import polars as pl

from collection.frames import returns
from collection.plan.parameters import Planning

# Things that turn into work: how many [objects, damages], and the chance of each a year; shape, rate of a gamma where
# the chance itself is unsure, null where it is taken as it is.
SOURCES = pl.Schema(dict.fromkeys(("exposure", "rate", "gamma_shape", "gamma_rate"), pl.Float64))
# Hours waiting at the end of each year, under one budget; at year 0 what waits today.
WAITING = pl.Schema({"year": pl.Int32, "mean": pl.Float64, "low": pl.Float64, "high": pl.Float64})
QUANTILES = (0.05, 0.95)
Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Inflow:
    """Jobs and hours that come in a year: their mean, and the standard deviation of the hours [h]."""

    jobs: float
    hours: float
    sd: float


@dataclass(frozen=True)
class Shrinks:
    """First year whose mean inflow is below the hours done, null where none is; share of the draws that agree."""

    year: int | None
    agree: float


def inflow(sources: pl.DataFrame, hours: float, sd: float) -> Inflow:
    """What comes in in a year from `sources` (schema SOURCES), with mean and sd of the hours a job takes.

    500 damages x .01 and 640 objects x .02, 6 h (sd 4): 17.8 jobs, 106.8 hours, sd 30.4237.
    """
    jobs = float((sources["exposure"] * sources["rate"]).sum())
    unsure = (sources["exposure"] * hours) ** 2 * sources["gamma_shape"] / sources["gamma_rate"] ** 2
    variance = jobs * (hours**2 + sd**2) + float(unsure.fill_null(0.0).sum())
    return Inflow(jobs, jobs * hours, float(np.sqrt(variance)))


def inflow_draws(sources: pl.DataFrame, hours: float, sd: float, years: int, figures: Planning) -> Array:
    """Hours that come in: draws x years. Rates are drawn once a draw, jobs and their hours in each year."""
    random = np.random.Generator(np.random.Philox(key=figures.seed))
    draws = figures.backlog_draws
    expected = np.zeros(draws)
    for exposure, rate, shape, per in sources.iter_rows():
        drawn = rate if shape is None else random.gamma(shape, 1 / per, draws)
        expected = expected + exposure * drawn
    jobs = random.poisson(expected[:, None], (draws, years))
    if not sd:
        return np.asarray(jobs * hours, dtype=np.float64)
    shape = (hours / sd) ** 2  # the hours of n jobs are drawn as one gamma of n times the shape
    return np.where(jobs > 0, random.gamma(np.maximum(jobs, 1) * shape, sd**2 / hours), 0.0)


@returns(WAITING)
def waiting(start: float, coming: Array, done_a_year: float) -> pl.DataFrame:
    """Hours waiting year by year, schema WAITING: never below none.

    start [h] : what waits today. coming [h] : draws x years. done_a_year [h].
    """
    at = np.full(len(coming), start)
    rows = [at]
    for year in coming.T:
        at = np.maximum(0.0, at + year - done_a_year)
        rows.append(at)
    low, high = np.quantile(rows, QUANTILES, axis=1)
    return pl.DataFrame(
        {"year": np.arange(len(rows)), "mean": np.mean(rows, axis=1), "low": low, "high": high}, schema=WAITING
    )


def shrinks(coming: Array, done_a_year: float) -> Shrinks:
    """When the work waiting starts to shrink; year None: not within the years drawn."""
    below = np.flatnonzero(coming.mean(axis=0) < done_a_year)
    if not below.size:
        return Shrinks(None, 0.0)
    first = int(below[0])
    return Shrinks(first + 1, float((coming[:, first] < done_a_year).mean()))
