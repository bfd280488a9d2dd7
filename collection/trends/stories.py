"""Where and when more happened than chance explains: events of each cell against all others, over all cells tested."""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import polars as pl
from scipy.stats import binom

from collection.trends.damage_rates import limits_of
from collection.trends.grades import HUNDRED
from collection.trends.parameters import Trends

Array = npt.NDArray[np.float64]
COUNTED = {"events": pl.Int64, "years": pl.Float64}
TESTED = {"rate": pl.Float64, "low": pl.Float64, "high": pl.Float64, "elsewhere": pl.Float64}
TESTED |= {"expected": pl.Float64, "chance": pl.Float64}
c = pl.col


def stories(cells: pl.DataFrame, figures: Trends, among: str | None = None) -> pl.DataFrame:
    """Cells with enough object-years, each tested against all others; those that stand out first.

    Parameters
    ----------
    cells : any columns that name a cell, `events`, `years` [object-years]; cells do not overlap.
    among : a column whose values are counted apart over the same years, such as groups of kinds: a cell is tested
        against the others of its own value.

    Returns
    -------
    The naming columns and COUNTED, TESTED: rate, low, high, elsewhere per 100 object-years, exact limits (Garwood
    1936); chance: of so many or so few events by the exact binomial test, its share of the exposure expected, doubled,
    corrected over all cells tested (Holm 1979); expected: events, were all cells alike; `stands_out`: the corrected
    chance is below `holm`. Where nothing happened at all, nothing is tested.
    """
    total, exposure = (c(n).sum().over(among) if among else c(n).sum() for n in ("events", "years"))
    summed = cells.with_columns(of=total, exposure=exposure).filter(c("of") > 0)
    tested = summed.filter(c("years") >= figures.cell_years)
    share = (tested["years"] / tested["exposure"]).to_numpy()
    chance = holm(two_sided(tested["events"].to_numpy(), tested["of"].to_numpy(), share))
    others = (c("of") - c("events")) / (c("exposure") - c("years")).replace(0.0, None)
    expected = c("of") * c("years") / c("exposure")
    named = limits_of(tested, figures.limits).with_columns(
        elsewhere=others * HUNDRED, expected=expected, chance=pl.Series(chance, dtype=pl.Float64)
    ).drop("of", "exposure")  # fmt: skip
    stands_out = named.with_columns(stands_out=c("chance") < figures.holm)
    return stands_out.sort("chance", "rate", descending=[False, True])


def two_sided(events: Sequence[int] | npt.NDArray[np.int64], total: int | npt.NDArray[np.int64], share: Array) -> Array:
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
