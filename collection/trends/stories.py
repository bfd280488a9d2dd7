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
TESTED |= {"expected": pl.Float64, "chance": pl.Float64, "chance_alike": pl.Float64}
c = pl.col


def stories(cells: pl.DataFrame, figures: Trends, among: str | None = None, alike: Sequence[str] = ()) -> pl.DataFrame:
    """Cells with enough object-years, each tested against all others; those that stand out first.

    cells : any columns that name a cell, `events`, `years` [object-years]; cells do not overlap, but for the values of
    `among`, such as groups of kinds, which are counted apart over the same years. alike : columns of what is kept
    together, such as room and technique.

    Returns the naming columns and COUNTED, TESTED: rate, low, high, elsewhere per 100 object-years, exact limits
    (Garwood 1936); expected: events, were all cells alike; chance: of so many or so few by the exact binomial test, its
    share of the exposure expected, doubled, corrected over all cells tested (Holm 1979); chance_alike: by the same
    test, uncorrected, among cells alike. `stands_out`: both are below `holm`; else it may be what is kept there, not
    what befell it. Where nothing happened at all, nothing is tested.
    """
    whole = [among] if among else []
    summed = _with_totals(_with_totals(cells, whole, ""), [*whole, *alike] if alike else whole, "_alike")
    tested = summed.filter(c("of") > 0, c("years") >= figures.cell_years)
    chance, own = holm(_chances(tested, "")), _chances(tested, "_alike")
    others = (c("of") - c("events")) / (c("exposure") - c("years")).replace(0.0, None)
    expected = c("of") * c("years") / c("exposure")
    named = limits_of(tested, figures.limits).with_columns(
        elsewhere=others * HUNDRED, expected=expected, chance=pl.Series(chance, dtype=pl.Float64),
        chance_alike=pl.Series(own, dtype=pl.Float64),
    ).select(pl.exclude("^(of|exposure)(_alike)?$"))  # fmt: skip
    out = (c("chance") < figures.holm) & ((c("chance_alike") < figures.holm) | (not alike))
    return named.with_columns(stands_out=out).sort("chance", "rate", descending=[False, True])


def _with_totals(cells: pl.DataFrame, by: Sequence[str], ending: str) -> pl.DataFrame:
    """Adds of and exposure: events and years of all cells that agree in `by`."""
    sums = {name: c(n).sum() for name, n in (("of", "events"), ("exposure", "years"))}
    return cells.with_columns(**{f"{name}{ending}": e.over(by) if by else e for name, e in sums.items()})


def _chances(cells: pl.DataFrame, ending: str) -> Array:
    """`two_sided` of each cell among those its totals are of."""
    share = (cells["years"] / cells[f"exposure{ending}"]).to_numpy()
    return two_sided(cells["events"].to_numpy(), cells[f"of{ending}"].to_numpy(), share)


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
