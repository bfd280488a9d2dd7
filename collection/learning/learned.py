"""Learned rates: what a cell's own history makes of its starting value, with events and years behind it."""

from collections.abc import Iterator, Mapping
from dataclasses import asdict, replace

import numpy as np
import polars as pl

from collection.frames import returns
from collection.learning.histories import at_rest
from collection.learning.limits import gamma_points
from collection.learning.parameters import Learning, learning, lines
from collection.learning.posterior import Evidence, LearnedRate, Prior, posterior, summary
from collection.risk.rate_rows import YEARS
from collection.risk.rates import RatesTable
from collection.snapshot import Collection

RATE = ("mean_rate", "chance_of_spread", "spread")
LEARNED = pl.Schema(
    {"cell": pl.String, "events": pl.Int64, "intervals": pl.Int64, "objects": pl.Int64, "exposure_years": pl.Float64}
    | dict.fromkeys((*YEARS, *RATE), pl.Float64)
)
COUNTED = pl.Schema(
    {"events": pl.Int64, "exposure_years": pl.Float64, "mean_rate": pl.Float64}
    | dict.fromkeys(("rate_low", "rate_likely", "rate_high"), pl.Float64)
)
LOSS, ACTIVATION = "loss_event", "activation_event"
JEFFREYS = 1 / 2  # shape of the prior of a Poisson rate of which nothing is known (Jeffreys 1946)
c = pl.col


def starting(collection: Collection) -> RatesTable:
    """The rates with nothing of the museum's own in them: judgement, published by nobody."""
    own = collection.frames["own_rate"].clear()
    return RatesTable.of(replace(collection, frames={**collection.frames, "own_rate": own}))


def starting_years(rates: RatesTable) -> Mapping[str, tuple[float, float, float]]:
    """Cell to its three points of years."""
    rows = rates.rows.select("cell", *YEARS).unique("cell", keep="first", maintain_order=True)
    return {cell: (short, likely, long) for cell, short, likely, long in rows.iter_rows()}


@returns(LEARNED)
def learned_losses(intervals: pl.DataFrame, rates: RatesTable) -> pl.DataFrame:
    """The rate of loss of every cell that has a history, schema LEARNED; `intervals`: schema INTERVALS.

    `rates` are the starting values (`starting`): each cell's own range is its prior. spread is the posterior mean of
    kappa, what own_rate.spread asks for.
    """
    return _learned(intervals, LOSS, starting_years(rates))


@returns(LEARNED)
def learned_activations(intervals: pl.DataFrame) -> pl.DataFrame:
    """The rate at which what is at rest is seen moving, of every cell, schema LEARNED; one wide prior for all."""
    figures = learning()
    return _learned(intervals, ACTIVATION, dict.fromkeys(intervals["cell"].unique(), figures.activation_years))


def learned_new_damage(intervals: pl.DataFrame) -> pl.DataFrame:
    """New damage an object-year, one row of schema COUNTED; `intervals`: schema NEW_DAMAGE."""
    still = intervals.filter(~c("handled"))
    figures, events = learning(), int(still["events"].sum())
    years = float(still["exposure_years"].sum())
    if not years:
        return pl.DataFrame(schema=COUNTED)
    low, likely, high = gamma_points(JEFFREYS + events, years, figures.points)
    row = {"events": events, "exposure_years": years, "mean_rate": (JEFFREYS + events) / years}
    return pl.DataFrame([row | {"rate_low": low, "rate_likely": likely, "rate_high": high}], schema=COUNTED)


def counted_rate(shape: float, years: float, events: int, exposure_years: float) -> tuple[float, float, float, float]:
    """Exact where events are counted: Gamma(shape, years) becomes Gamma(shape + events, years + exposure).

    Returns mean, lower limit, median and upper limit of the rate [1/year].
    """
    a, b = shape + events, years + exposure_years
    low, likely, high = gamma_points(a, b, learning().points)
    return a / b, float(low), float(likely), float(high)


def learned_rate(
    years: tuple[float, float, float], evidence: Evidence, false_event: float, figures: Learning
) -> LearnedRate:
    """One cell: its starting range and its evidence give a learned rate."""
    prior = Prior.of(years, figures)
    return summary(prior, posterior(prior, evidence, false_event), figures)


def _learned(intervals: pl.DataFrame, count: str, years: Mapping[str, tuple[float, float, float]]) -> pl.DataFrame:
    cells = at_rest(intervals, count).sort("cell").partition_by("cell", maintain_order=True)
    return pl.DataFrame(list(_rows(cells, count, years)), schema=LEARNED)


def _rows(
    cells: list[pl.DataFrame], count: str, years: Mapping[str, tuple[float, float, float]]
) -> Iterator[dict[str, object]]:
    figures, false_event = learning(), lines().false_event_chance
    for rows in cells:
        cell = rows["cell"][0]
        rate = learned_rate(years[cell], Evidence.of(rows, count, figures.most_events), false_event, figures)
        named = asdict(rate)
        yield {
            "cell": cell,
            "events": int(rows[count].sum()),
            "intervals": rows.height,
            "objects": rows["object_id"].n_unique(),
            "exposure_years": float(np.sum(rows["exposure_years"].to_numpy())),
            **dict(zip(YEARS, (rate.short, rate.likely, rate.long), strict=True)),
            **{name: named[name] for name in RATE},
        }
