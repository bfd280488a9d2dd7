"""From hazards to an object: expected share of its value lost within 12 months, and the logarithm of that."""

from dataclasses import dataclass
from datetime import date

import narwhals as nw
import polars as pl

from collection.risk.parameters import TEN
from collection.risk.rates import RatesTable
from collection.risk.series import Lazy, expm1, log_left

SUMS = (
    "value_share", "annual_loss", "unseen_loss", "chance_12_months", "magnitude", "collection_magnitude", "width",
)  # fmt: skip
RISK = pl.Schema(
    {"object_id": pl.String, "location_id": pl.String, "look": pl.String}
    | {"hazards": pl.UInt32, "assumed": pl.UInt32, "last_checked_on": pl.Date, "value_assumed": pl.Boolean}
    | dict.fromkeys(SUMS, pl.Float64)
)  # fmt: skip


def object_risk(hazards: Lazy, objects: Lazy, rates: RatesTable) -> Lazy:
    """Risk of every object, schema RISK; none is dropped.

    Parameters
    ----------
    hazards : schema HAZARDS.
    objects : one row an object: object_id, location_id, look, last_checked_on, value_share (of the collection),
        value_assumed, unseen_loss [1/year].

    Returns
    -------
    annual_loss [fraction of the object's value a year] is 0 where nothing was found; magnitude is null there. The scale
    is A + B + C of Michalski & Pedersoli, The ABC Method, CCI/ICCROM 2016: 15 + log10(annual_loss).
    """
    per_object = _objects(_parts(hazards, rates))
    r, share = nw.col("annual_loss"), nw.col("value_share")
    known = objects.join(per_object, on="object_id", how="left").with_columns(
        r.fill_null(0.0),
        nw.col("hazards").fill_null(0).cast(nw.UInt32),
        nw.col("assumed").fill_null(0).cast(nw.UInt32),
        chance_12_months=-expm1(-nw.col("counted_rate").fill_null(0.0)),
        magnitude=_magnitude(r, rates),
        collection_magnitude=_magnitude(r * share, rates),
        width=nw.when(r > 0).then(nw.col("weighted") / r),
    )
    return known.select(*RISK)


def loss_over(hazards: Lazy, years: float) -> Lazy:
    """Expected loss of each object over so many years: object_id, loss [fraction of its value]."""
    gone = -expm1(-(nw.col("loss_rate") * nw.col("loss_depth") * years))
    with_log = hazards.with_columns(log_kept=log_left(nw.col("reach") * gone))
    parts = with_log.group_by("object_id", "part").agg(nw.col("part_share").max(), nw.col("log_kept").sum())
    loss = parts.with_columns(expected_loss=nw.col("part_share") * -expm1(nw.col("log_kept")))
    return loss.group_by("object_id").agg(nw.col("expected_loss").sum())


def _parts(hazards: Lazy, rates: RatesTable) -> Lazy:
    """Loss of each part that has hazards; places within a part fall independently, so what is kept multiplies."""
    counts = nw.col("part_share") * nw.col("reach") * nw.col("loss_depth") >= rates.lines.p12_counts_losses_from
    flags = ("state_assumed", "share_assumed", "area_assumed", "extent_assumed")
    return (
        hazards.with_columns(
            width=_width(TEN),
            counted_rate=nw.when(counts).then(nw.col("loss_rate")).otherwise(0.0),
            extent_assumed=nw.col("extent_basis") == "assumed",
        )
        .with_columns(
            assumed=sum((nw.col(flag).cast(nw.Int64) for flag in flags), start=nw.lit(0)),
            kept_width=nw.col("width") * nw.col("log_kept"),
        )
        .group_by("object_id", "part")
        .agg(
            nw.len().alias("hazards"),
            nw.col("part_share").max(),
            *(nw.col(name).sum() for name in ("log_kept", "kept_width", "counted_rate", "assumed")),
        )
        .with_columns(expected_loss=nw.col("part_share") * -expm1(nw.col("log_kept")))
        .with_columns(weighted=nw.when(nw.col("log_kept") < 0).then(_part_width()).otherwise(0.0))
    )


def _part_width() -> nw.Expr:
    return nw.col("expected_loss") * nw.col("kept_width") / nw.col("log_kept")


def _objects(parts: Lazy) -> Lazy:
    """Parts are disjoint, so their losses add; shares sum to 1, so the sum needs no cap."""
    sums = ("hazards", "counted_rate", "assumed", "weighted")
    return parts.group_by("object_id").agg(
        nw.col("expected_loss").sum().alias("annual_loss"), *(nw.col(n).sum() for n in sums)
    )


def _width(base: float) -> nw.Expr:
    """Decades between the low and high figure of years and of extent together, as a root sum of squares."""
    years = (nw.col("years_long") / nw.col("years_short")).log(base)
    ratio = nw.when(nw.col("affected_low") > 0).then(nw.col("affected_high") / nw.col("affected_low")).otherwise(1.0)
    extent = ratio.log(base)
    return (years * years + extent * extent).sqrt()


def _magnitude(loss: nw.Expr, rates: RatesTable) -> nw.Expr:
    """The scale's ceiling plus log10 of the loss, rounded; null where the loss is 0."""
    some = nw.when(loss > 0).then(loss)
    return (rates.scale.ceiling + some.log(TEN)).round(rates.scale.decimals)


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
