"""Where and when more happened than chance explains: events of each cell against all others, over all cells tested."""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import polars as pl
from scipy.stats import binom

from collection.learning.limits import count_limits
from collection.trends.grades import HUNDRED
from collection.trends.parameters import Trends

Array = npt.NDArray[np.float64]
COUNTED = {"events": pl.Int64, "years": pl.Float64}
TESTED = {"rate": pl.Float64, "low": pl.Float64, "high": pl.Float64, "elsewhere": pl.Float64, "chance": pl.Float64}
c = pl.col


def stories(cells: pl.DataFrame, figures: Trends) -> pl.DataFrame:
    """Cells with enough object-years, each tested against all others; those that stand out first.

    Parameters
    ----------
    cells : any columns that name a cell, `events`, `years` [object-years]; cells do not overlap.

    Returns
    -------
    The naming columns and COUNTED, TESTED: rate, low, high, elsewhere per 100 object-years, exact limits (Garwood
    1936); chance: of so many or so few events by the exact binomial test, its share of the exposure expected, doubled,
    corrected over all cells tested (Holm 1979); `stands_out`: the corrected chance is below `holm`.
    """
    total, exposure = int(cells["events"].sum()), float(cells["years"].sum())
    tested = cells.filter(c("years") >= figures.cell_years)
    share = tested["years"].to_numpy() / exposure if exposure else np.zeros(0)
    chance = holm(two_sided(tested["events"].to_numpy(), total, share))
    others = (total - c("events")) / (exposure - c("years")).replace(0.0, None)
    named = _rates(tested, figures.limits).with_columns(elsewhere=others * HUNDRED, chance=pl.Series(chance))
    stands_out = named.with_columns(stands_out=c("chance") < figures.holm)
    return stands_out.sort("chance", "rate", descending=[False, True])


def _rates(cells: pl.DataFrame, chance: float) -> pl.DataFrame:
    """Adds rate, low and high per 100 object-years."""
    limits = [count_limits(events, chance) for events in cells["events"]]
    low, high = (pl.Series([pair[end] for pair in limits], dtype=pl.Float64) for end in (0, 1))
    counted = cells.with_columns(rate=c("events").cast(pl.Float64), low=low, high=high)
    return counted.with_columns(c("rate", "low", "high") * HUNDRED / c("years"))


def two_sided(events: Sequence[int] | npt.NDArray[np.int64], total: int, share: Array) -> Array:
    """Chance of a count as far out as this among `total` events, a `share` of which is expected; doubled, at most 1."""
    counts = np.asarray(events)
    more, fewer = binom.sf(counts - 1, total, share), binom.cdf(counts, total, share)
    return np.asarray(np.minimum(1.0, 2 * np.minimum(more, fewer)))


def holm(chances: Array) -> Array:
    """Chances corrected for how many were tested, step by step from the smallest (Holm 1979), in the order given."""
    order = np.argsort(chances, kind="stable")
    times = chances.size - np.arange(chances.size)
    stepped = np.minimum(1.0, np.maximum.accumulate(chances[order] * times))
    corrected = np.empty_like(stepped)
    corrected[order] = stepped
    return corrected
