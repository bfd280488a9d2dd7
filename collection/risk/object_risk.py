"""From hazards to an object: expected share of its value lost within 12 months, and of the collection's."""

from dataclasses import dataclass
from datetime import date

import polars as pl

from collection.risk.namespace import Lazy, Namespace, namespace
from collection.risk.rates import RatesTable
from collection.risk.reach import ASSUMED, with_log_kept
from collection.risk.series import expm1

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
    xp = namespace(hazards)
    per_object = _objects(_parts(hazards, rates))
    r = xp.col("annual_loss")
    some = xp.when(r > 0)
    known = objects.join(per_object, on="object_id", how="left").with_columns(
        r.fill_null(0.0),
        xp.col("mean_loss").fill_null(0.0),
        *(xp.col(count).fill_null(0).cast(xp.UInt32) for count in ("hazards", "assumed")),
        size_assumed=xp.col("sizes_assumed").fill_null(0) > 0,
        chance_12_months=-expm1(xp, -xp.col("counted_rate").fill_null(0.0)),
        collection_loss=r.fill_null(0.0) * xp.col("value_share"),
        unsure_times=some.then((xp.col("weighted") / r).exp()),
        assessed_share=some.then(xp.col("assessed") / r),
    )
    return known.select(*RISK)


def loss_over(hazards: Lazy, years: float) -> Lazy:
    """Expected loss of each object over so many years: object_id, loss [fraction of its value]."""
    xp = namespace(hazards)
    with_log = with_log_kept(hazards.drop("log_kept"), "loss_rate", "log_kept", years)
    parts = with_log.group_by("object_id", "part").agg(xp.col("part_share").max(), xp.col("log_kept").sum())
    loss = parts.with_columns(expected_loss=xp.col("part_share") * -expm1(xp, xp.col("log_kept")))
    return loss.group_by("object_id").agg(xp.col("expected_loss").sum())


def _parts(hazards: Lazy, rates: RatesTable) -> Lazy:
    """Loss of each part that has hazards; places within a part fall independently, so what is kept multiplies."""
    xp = namespace(hazards)
    counts = xp.col("part_share") * xp.col("reach") * xp.col("loss_depth") >= rates.lines.p12_counts_losses_from
    flags = ("state_assumed", "share_assumed", "area_assumed", "area_estimated", "extent_assumed")
    log, mean_log = xp.col("log_kept"), xp.col("mean_log_kept")
    return (
        hazards.with_columns(
            spread=_log_spread(xp),
            counted_rate=xp.when(counts).then(xp.col("loss_rate")).otherwise(0.0),
            extent_assumed=xp.col("extent_basis") == ASSUMED,
            sizes_assumed=xp.when("area_assumed").then(1).otherwise(0),
            assessed_log=xp.when("state_assumed").then(0.0).otherwise(log),
        )
        .with_columns(
            assumed=sum((xp.col(flag).cast(xp.Int64) for flag in flags), start=xp.lit(0)), spread=xp.col("spread") * log
        )
        .group_by("object_id", "part")
        .agg(
            xp.len().alias("hazards"),
            xp.col("part_share").max(),
            *(xp.col(name).sum() for name in (*LOGS, "counted_rate", "assumed", "sizes_assumed")),
        )
        .with_columns(
            expected_loss=xp.col("part_share") * -expm1(xp, log), mean_loss=xp.col("part_share") * -expm1(xp, mean_log)
        )
        .with_columns(weighted=_share_of_log(xp, "spread"), assessed=_share_of_log(xp, "assessed_log"))
    )


LOGS = ("log_kept", "mean_log_kept", "spread", "assessed_log")


def _share_of_log(xp: Namespace, name: str) -> pl.Expr:
    """What of a part's loss goes with a share of its logarithms."""
    log = xp.col("log_kept")
    return xp.when(log < 0).then(xp.col("expected_loss") * xp.col(name) / log).otherwise(0.0)


def _objects(parts: Lazy) -> Lazy:
    """Parts are disjoint, so their losses add; shares sum to 1, so the sum needs no cap."""
    xp = namespace(parts)
    sums = ("mean_loss", "hazards", "counted_rate", "assumed", "sizes_assumed", "weighted", "assessed")
    return parts.group_by("object_id").agg(
        xp.col("expected_loss").sum().alias("annual_loss"), *(xp.col(n).sum() for n in sums)
    )


def _log_spread(xp: Namespace) -> pl.Expr:
    """Logarithm of high over low of years and of extent together, as a root sum of squares."""
    years = (xp.col("years_long") / xp.col("years_short")).log()
    ratio = xp.when(xp.col("affected_low") > 0).then(xp.col("affected_high") / xp.col("affected_low")).otherwise(1.0)
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
