"""Which starting values, that nobody measured, move the total and the order most."""

import polars as pl

from collection.frames import returns
from collection.risk.rates import RatesTable

SWAY = pl.Schema(
    {"cell": pl.String, "basis": pl.String, "hazards": pl.UInt32, "years_short": pl.Float64, "years_long": pl.Float64}
    | {"total_short": pl.Float64, "total_long": pl.Float64, "changed_in_first": pl.UInt32}
)
ENDS = ("if_short", "if_long")  # what the loss gains with the row's short years, and with its long ones
c = pl.col


@returns(SWAY)
def sway(hazards: pl.DataFrame, objects: pl.DataFrame, rates: RatesTable, first: int) -> pl.DataFrame:
    """For each row of the rates, what its short or its long years would do, schema SWAY, largest first.

    Parameters
    ----------
    hazards : schema HAZARDS. objects : object_id, value_share, of every object. first : how many of the list count.

    Returns
    -------
    total_short, total_long : the collection's expected loss with the row at its short or long years, times that with
        likely years. changed_in_first : how many of the first objects others would take the place of, at the worse end.
    """
    parts = _losses(hazards, objects, rates)
    total = float(parts["loss"].sum())
    if not total:
        return pl.DataFrame(schema=SWAY)
    base = parts.group_by("object_id").agg(c("loss").sum())
    rows = [_row(cell, part, base, total, first) for (cell,), part in parts.group_by("cell", maintain_order=True)]
    framed = pl.DataFrame(rows, schema=SWAY, orient="row")
    return framed.sort(pl.max_horizontal("total_short", 1 / c("total_long")), "cell", descending=[True, False])


def _losses(hazards: pl.DataFrame, objects: pl.DataFrame, rates: RatesTable) -> pl.DataFrame:
    """Each hazard's loss of the collection's value a year, and how it would change with the years of its row."""
    log = c("log_kept").sum().over("object_id", "part")
    share = pl.when(log < 0).then(c("part_share") * (1 - log.exp()) * c("log_kept") / log).otherwise(0.0)
    cells = rates.rows.select("rate_row", "cell")
    joined = hazards.join(cells, on="rate_row").join(objects.select("object_id", "value_share"), on="object_id")
    at_rest = c("modifier") * c("quiet_factor") / c("years_likely")
    of_years = pl.when(c("loss_rate") > 0).then(at_rest / c("loss_rate")).otherwise(0.0)
    return joined.with_columns(loss=share * c("value_share"), of_years=of_years).with_columns(
        if_short=c("loss") * c("of_years") * (c("years_likely") / c("years_short") - 1),
        if_long=c("loss") * c("of_years") * (c("years_likely") / c("years_long") - 1),
    )


def _row(cell: str, part: pl.DataFrame, base: pl.DataFrame, total: float, first: int) -> tuple[object, ...]:
    changes = part.group_by("object_id").agg(c(*ENDS).sum())
    joined = base.join(changes, on="object_id", how="left").with_columns(c(*ENDS).fill_null(0.0))
    ends = [_largest(joined, c("loss") + c(name), first) for name in ENDS]
    before = _largest(joined, c("loss"), first)
    one = part.row(0, named=True)
    totals = [(total + float(part[name].sum())) / total for name in ENDS]
    changed = max(len(before - end) for end in ends)
    return cell, one["basis"], part.height, one["years_short"], one["years_long"], *totals, changed


def _largest(rows: pl.DataFrame, loss: pl.Expr, first: int) -> set[str]:
    return set(rows.sort(loss, "object_id", descending=[True, False]).head(first)["object_id"])
