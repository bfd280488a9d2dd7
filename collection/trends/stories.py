"""Where and when more happened than chance explains: cells of place, year, technique and kinds of damage, each tested.

Events of a cell, what was new or began to move over object-years, stand against all others, over all cells tested.
Kinds go together by the climate they answer to (`climate` of rates.toml), so that damp in one room is not lost among
chips everywhere.
"""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import polars as pl
from scipy.stats import binom

from collection.frames import returns
from collection.risk.rates import RatesTable
from collection.trends.damage_rates import ACTIVATION, NEW, limits_of
from collection.trends.grades import HUNDRED
from collection.trends.parameters import Trends

Array = npt.NDArray[np.float64]
COUNTED = {"events": pl.Int64, "years": pl.Float64}
TESTED = {"rate": pl.Float64, "low": pl.Float64, "high": pl.Float64, "elsewhere": pl.Float64}
TESTED |= {"expected": pl.Float64, "chance": pl.Float64, "chance_alike": pl.Float64}
ANSWERS_TO = "answers_to"
PLACED = {"room": pl.String, "year": pl.Int32, "technique": pl.String}
CELLS = pl.Schema({**PLACED, ANSWERS_TO: pl.String, **COUNTED})
CELL_KINDS = pl.Schema({**PLACED, ANSWERS_TO: pl.String, "kind": pl.String, "events": pl.Int64})
KEYS = tuple(PLACED)
ALIKE = ("room", "technique")  # what is kept together
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


@returns(CELLS)
def cells(rows: pl.DataFrame, rates: RatesTable) -> pl.DataFrame:
    """Object-years of each cell with new damage and new activity in them, schema CELLS.

    rows : schema WATCHED. answers_to : the group of climate of the kinds; the same years count for each group.
    What began to move counts where the object was watched over the same span.
    """
    events = cell_kinds(rows, rates).group_by(*KEYS, ANSWERS_TO).agg(c("events").sum())
    years = rows.filter(c("count") == NEW).group_by(KEYS).agg(c("years").sum()).filter(c("years") > 0)
    every = years.join(events.select(ANSWERS_TO).unique(), how="cross")
    joined = every.join(events, on=[*KEYS, ANSWERS_TO], how="left", nulls_equal=True)
    return joined.with_columns(c("events").fill_null(0)).select(*CELLS).sort(*KEYS, ANSWERS_TO)


@returns(CELL_KINDS)
def cell_kinds(rows: pl.DataFrame, rates: RatesTable) -> pl.DataFrame:
    """Events of each cell by kind of damage, schema CELL_KINDS, most first; `rows`: schema WATCHED."""
    groups = rates.damage.select(kind="term", answers_to="climate_group").unique("kind", keep="first")
    counted = event_rows(rows).join(groups, on="kind", how="left").group_by(*KEYS, ANSWERS_TO, "kind")
    summed = counted.agg(c("events").sum()).select(*CELL_KINDS)
    return summed.sort(*KEYS, ANSWERS_TO, "events", "kind", descending=[False] * 4 + [True, False])


def event_rows(rows: pl.DataFrame) -> pl.DataFrame:
    """Rows of schema WATCHED with an event of new damage or new activity, over spans in which objects were watched."""
    spans = rows.filter(c("count") == NEW, c("years") > 0).select("object_id", "end_check_id").unique()
    happened = rows.filter(c("count").is_in([NEW, ACTIVATION]), c("events") > 0)
    return happened.join(spans, on=["object_id", "end_check_id"], how="semi")
