"""From hazards to an object: expected share of its value lost within 12 months, and of the collection's."""

from dataclasses import dataclass
from datetime import date

import narwhals as nw
import polars as pl

from collection.risk.rates import RatesTable
from collection.risk.reach import ASSUMED, with_log_kept
from collection.risk.series import Lazy, expm1

SUMS = (
    "value_share", "annual_loss", "mean_loss", "collection_loss", "unchecked_loss", "chance_12_months", "unsure_times",
    "assessed_share",
)  # fmt: skip
RISK = pl.Schema(
    {"object_id": pl.String, "location_id": pl.String, "look": pl.String}
    | {"hazards": pl.UInt32, "assumed": pl.UInt32, "last_checked_on": pl.Date}
    | {"value_assumed": pl.Boolean, "size_assumed": pl.Boolean}
    | dict.fromkeys(SUMS, pl.Float64)
)


def object_risk(hazards: Lazy, objects: Lazy, rates: RatesTable) -> Lazy:
    """Risk of every object, schema RISK; none is dropped.

    Parameters
    ----------
    hazards : schema HAZARDS.
    objects : one row an object: object_id, location_id, look, last_checked_on, value_share (of the collection),
        value_assumed, unchecked_loss [1/year].

    Returns
    -------
    annual_loss [fraction of the object's value a year] is 0 where nothing was found; mean_loss the same on mean rates:
    totals add it up. collection_loss = annual_loss x value_share. unsure_times: 95th over 5th percentile of
    annual_loss, about. assessed_share: share of annual_loss that comes from states somebody assessed.
    """
    per_object = _objects(_parts(hazards, rates))
    r = nw.col("annual_loss")
    some = nw.when(r > 0)
    known = objects.join(per_object, on="object_id", how="left").with_columns(
        r.fill_null(0.0),
        nw.col("mean_loss").fill_null(0.0),
        nw.col("hazards").fill_null(0).cast(nw.UInt32),
        nw.col("assumed").fill_null(0).cast(nw.UInt32),
        size_assumed=nw.col("sizes_assumed").fill_null(0) > 0,
        chance_12_months=-expm1(-nw.col("counted_rate").fill_null(0.0)),
        collection_loss=r.fill_null(0.0) * nw.col("value_share"),
        unsure_times=some.then((nw.col("weighted") / r).exp()),
        assessed_share=some.then(nw.col("assessed") / r),
    )
    return known.select(*RISK)


def loss_over(hazards: Lazy, years: float) -> Lazy:
    """Expected loss of each object over so many years: object_id, loss [fraction of its value]."""
    with_log = with_log_kept(hazards.drop("log_kept"), "loss_rate", "log_kept", years)
    parts = with_log.group_by("object_id", "part").agg(nw.col("part_share").max(), nw.col("log_kept").sum())
    loss = parts.with_columns(expected_loss=nw.col("part_share") * -expm1(nw.col("log_kept")))
    return loss.group_by("object_id").agg(nw.col("expected_loss").sum())


def _parts(hazards: Lazy, rates: RatesTable) -> Lazy:
    """Loss of each part that has hazards; places within a part fall independently, so what is kept multiplies."""
    counts = nw.col("part_share") * nw.col("reach") * nw.col("loss_depth") >= rates.lines.p12_counts_losses_from
    flags = ("state_assumed", "share_assumed", "area_assumed", "area_estimated", "extent_assumed")
    log, mean_log = nw.col("log_kept"), nw.col("mean_log_kept")
    return (
        hazards.with_columns(
            spread=_log_spread(),
            counted_rate=nw.when(counts).then(nw.col("loss_rate")).otherwise(0.0),
            extent_assumed=nw.col("extent_basis") == ASSUMED,
            sizes_assumed=nw.when("area_assumed").then(1).otherwise(0),
            assessed_log=nw.when("state_assumed").then(0.0).otherwise(log),
        )
        .with_columns(
            assumed=sum((nw.col(flag).cast(nw.Int64) for flag in flags), start=nw.lit(0)), spread=nw.col("spread") * log
        )
        .group_by("object_id", "part")
        .agg(
            nw.len().alias("hazards"),
            nw.col("part_share").max(),
            *(nw.col(name).sum() for name in (*LOGS, "counted_rate", "assumed", "sizes_assumed")),
        )
        .with_columns(
            expected_loss=nw.col("part_share") * -expm1(log), mean_loss=nw.col("part_share") * -expm1(mean_log)
        )
        .with_columns(weighted=_share_of_log("spread"), assessed=_share_of_log("assessed_log"))
    )


LOGS = ("log_kept", "mean_log_kept", "spread", "assessed_log")


def _share_of_log(name: str) -> nw.Expr:
    """What of a part's loss goes with a share of its logarithms."""
    log = nw.col("log_kept")
    return nw.when(log < 0).then(nw.col("expected_loss") * nw.col(name) / log).otherwise(0.0)


def _objects(parts: Lazy) -> Lazy:
    """Parts are disjoint, so their losses add; shares sum to 1, so the sum needs no cap."""
    sums = ("mean_loss", "hazards", "counted_rate", "assumed", "sizes_assumed", "weighted", "assessed")
    return parts.group_by("object_id").agg(
        nw.col("expected_loss").sum().alias("annual_loss"), *(nw.col(n).sum() for n in sums)
    )


def _log_spread() -> nw.Expr:
    """Logarithm of high over low of years and of extent together, as a root sum of squares."""
    years = (nw.col("years_long") / nw.col("years_short")).log()
    ratio = nw.when(nw.col("affected_low") > 0).then(nw.col("affected_high") / nw.col("affected_low")).otherwise(1.0)
    extent = ratio.log()
    return (years * years + extent * extent).sqrt()


@dataclass(frozen=True)
class Risk:
    """Risk of the whole collection on one day.

    hazards : schema HAZARDS. objects : schema RISK. checks : schema CHECKS. looks : schema LOOKS.
    targets : schema OUTSIDE_TARGET. None is in an order that means anything but `checks`.
    """

    as_of: date
    checks: pl.DataFrame
    hazards: pl.DataFrame
    objects: pl.DataFrame
    looks: pl.DataFrame
    targets: pl.DataFrame
