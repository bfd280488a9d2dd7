"""Which starting values, that nobody measured, move the total and the order most."""

from collections.abc import Mapping

import polars as pl

from collection.frames import returns
from collection.risk.rates import RatesTable
from collection.risk.reach import with_log_kept

SWAY = pl.Schema(
    {"cell": pl.String, "basis": pl.String, "hazards": pl.UInt32, "years_short": pl.Float64, "years_long": pl.Float64}
    | {"total_short": pl.Float64, "total_long": pl.Float64, "changed_in_first": pl.UInt32}
)
ENDS: Mapping[str, str] = {"if_short": "years_short", "if_long": "years_long"}
c = pl.col


@returns(SWAY)
def sway(hazards: pl.DataFrame, objects: pl.DataFrame, rates: RatesTable, first: int) -> pl.DataFrame:
    """For each row of the rates, what its short or its long years would do, schema SWAY, largest first.

    Parameters
    ----------
    hazards : schema HAZARDS. objects : object_id, value_share, of every object. first : how many of the list count.

    Returns
    -------
    total_short, total_long : the collection's expected loss with the row's short or long years in place of the likely
        ones, times that with likely years; what quiet years say stays as it is. changed_in_first : how many of the
        first objects others would take the place of, at the worse end.
    """
    named = hazards.join(rates.rows.select("rate_row", "cell"), on="rate_row").join(
        objects.select("object_id", "value_share"), on="object_id"
    )
    base = _lost(named.with_columns(rate="loss_rate"), "object_id").sort("loss", "object_id", descending=[True, False])
    total = float(base["loss"].sum())
    if not total:
        return pl.DataFrame(schema=SWAY)
    changes = _changes(named)
    sums = changes.group_by("cell").agg(
        ((c(end).sum() + total) / total).alias(end.replace("if", "total")) for end in ENDS
    )
    cells = (
        named.sort("hazard_id").group_by("cell").agg(c("basis", "years_short", "years_long").first(), hazards=pl.len())
    )
    framed = cells.join(sums, on="cell").join(_changed_in_first(base, changes, first), on="cell")
    ordered = framed.sort(pl.max_horizontal("total_short", 1 / c("total_long")), "cell", descending=[True, False])
    return ordered.select(c(n).cast(t) for n, t in SWAY.items())


def _changes(named: pl.DataFrame) -> pl.DataFrame:
    """cell, object_id, if_short, if_long: by how much an object's loss grows if the years of a row were those.

    Each part is reckoned once for each row of the rates that it has hazards of, with only that row's years changed.
    """
    touched = (
        named.select("object_id", "part", "cell").unique().sort("cell", "object_id", "part").with_row_index("copy")
    )
    copies = touched.rename({"cell": "changed"}).join(named, on=["object_id", "part"])
    before = _lost(copies.with_columns(rate="loss_rate"), "copy").rename({"loss": "before"})
    at_rest = c("modifier") * c("quiet_factor")
    changed = touched.join(before, on="copy")
    for end, years in ENDS.items():
        other = at_rest * (1 / c(years) - 1 / c("years_likely"))
        rate = c("loss_rate") + pl.when(c("cell") == c("changed")).then(other).otherwise(0.0)
        changed = changed.join(_lost(copies.with_columns(rate=rate), "copy").rename({"loss": end}), on="copy")
    grown = [c(end) - c("before") for end in ENDS]
    return changed.group_by("cell", "object_id").agg(its.sum().alias(end) for end, its in zip(ENDS, grown, strict=True))


def _lost(rows: pl.DataFrame, key: str) -> pl.DataFrame:
    """key, loss [share of the collection's value a year] at `rate`; the key is that of the object or of its copy."""
    plain = rows.drop("object_id", "log_kept").with_columns(object_id=rows[key])
    with_log = with_log_kept(plain.lazy(), "rate", "log_kept").collect(engine="in-memory")
    parts = with_log.group_by("object_id", "part").agg(c("part_share", "value_share").max(), c("log_kept").sum())
    loss = c("value_share") * c("part_share") * (1 - c("log_kept").exp())
    return parts.group_by(c("object_id").alias(key)).agg(loss=loss.sum())


def _changed_in_first(base: pl.DataFrame, changes: pl.DataFrame, first: int) -> pl.DataFrame:
    """cell, changed_in_first: how many of the first objects others would take the place of, at the worse end.

    `base`: object_id, loss, largest first. Of objects that a cell does not change only so many can be among the first.
    """
    ranked, before = base.with_row_index("rank"), base.head(first).select("object_id")
    fewest = changes.group_by("cell").agg(
        rank=pl.int_range(pl.min_horizontal(first + pl.len(), base.height), dtype=pl.UInt32)
    )
    same = fewest.explode("rank").join(ranked, on="rank").join(changes, on=["cell", "object_id"], how="anti")
    other = changes.join(base, on="object_id")
    counted = []
    for end in ENDS:
        moved = other.select("cell", "object_id", loss=c("loss") + c(end))
        every = pl.concat([same.select(moved.columns), moved])
        ordered = every.sort("loss", "object_id", descending=[True, False])
        largest = ordered.group_by("cell", maintain_order=True).head(first)
        stay = largest.join(before, on="object_id", how="semi").group_by("cell").agg(stay=pl.len())
        counted.append(fewest.select("cell").join(stay, on="cell", how="left"))
    stays = pl.concat(counted).group_by("cell").agg(c("stay").fill_null(0).min())
    return stays.select("cell", changed_in_first=before.height - c("stay").cast(pl.Int64))
