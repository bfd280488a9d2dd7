"""How far damage and harm reach on a part: more than the spot where they show, and once where they lie in each other.

Of areas l1 >= l2 >= ... of the part, S = sum of (l_i - l_(i+1)) x (1 - product of what the first i leave): what is
taken from the smaller place is taken from within the larger (risk model, section 3).
"""

import polars as pl

from collection.risk.namespace import Lazy, Namespace, namespace
from collection.risk.rates import RatesTable
from collection.risk.series import expm1, log_left

MEASURED, BAND, COUNT, ASSUMED = "measured", "band", "count", "assumed"  # how an extent is known
AFFECTED = ("affected_low", "affected_share", "affected_high")
HARMED = ("harmed_low", "harmed_likely", "harmed_high")
BANDS = ("band_low", "band_likely", "band_high")
OF_PART = ("object_id", "part")


def of_same_glass(rows: Lazy, rates: RatesTable) -> Lazy:
    """Decay of an unstable glass reaches all enamel of the same glass: a disease of the recipe, not of the spot.

    The object's unstable_share where it is recorded, else so many times the affected share, assumed.
    """
    xp = namespace(rows)
    glass = xp.col("at_risk") == "glass"
    known, wide = xp.col("unstable_share"), rates.area_range.measured
    most = xp.when(~known.is_null()).then(xp.min_horizontal(known * wide, xp.lit(1.0)))  # of null and 1 it would give 1
    own = (known / wide, known, most)
    reached = [
        xp.when(glass).then(xp.coalesce(share, xp.col(name) * rates.at_risk.glass_times)).otherwise(xp.col(name))
        for name, share in zip(AFFECTED, own, strict=True)
    ]
    basis = xp.when(~known.is_null()).then(xp.lit(MEASURED)).otherwise(xp.lit(ASSUMED))
    return rows.with_columns(
        *(share.alias(name) for name, share in zip(AFFECTED, reached, strict=True)),
        extent_basis=xp.when(glass).then(basis).otherwise(xp.col("extent_basis")),
    )


def with_harmed(rows: Lazy, bands: Lazy, rates: RatesTable) -> Lazy:
    """A repair whose row says `harmed` reaches the area where harm shows.

    The harmed area of its state; else the largest damage recorded beneath it on its part; else a share of the coat,
    assumed.
    """
    xp = namespace(rows)
    names = {"extent_band": "harmed_band"} | {band: f"harmed_{band}" for band in BANDS}
    known = rows.join(bands.rename(names), on="harmed_band", how="left")
    measured = xp.col("harmed_mm2") / xp.col("part_area_mm2")
    wide = rates.area_range.measured
    by_area = (measured / wide, measured, measured * wide)
    return known.with_columns(
        *(
            xp.when("harmed")
            .then(xp.coalesce(area, xp.col(f"harmed_{band}"), _beneath(xp, name), xp.col(share) * xp.col(name)))
            .otherwise(xp.col(name))
            .alias(name)
            for name, share, band, area in zip(AFFECTED, HARMED, BANDS, by_area, strict=True)
        ),
        extent_basis=xp.when("harmed").then(_basis(xp, measured)).otherwise(xp.col("extent_basis")),
    )


def _beneath(xp: Namespace, name: str) -> pl.Expr:
    """The largest share of the part that damage of a kind that lies beneath coatings has."""
    return xp.when("beneath").then(xp.col(name)).max().over("object_id", "part")


def _basis(xp: Namespace, measured: pl.Expr) -> pl.Expr:
    """How the harmed area is known; a damage beneath is as it was recorded."""
    assumed = xp.when(_beneath(xp, AFFECTED[1]).is_null()).then(xp.lit(ASSUMED)).otherwise(xp.lit(BAND))
    banded = xp.when(~xp.col("harmed_band").is_null()).then(xp.lit(BAND)).otherwise(assumed)
    return xp.when(~measured.is_null()).then(xp.lit(MEASURED)).otherwise(banded)


def with_log_kept(hazards: Lazy, rate: str, into: str, years: float = 1.0) -> Lazy:
    """Adds `into`, the logarithm of the share of the part that a hazard leaves after so many years at `rate` [1/year].

    `hazards` has reach, loss_depth, nested and the rate. Rows that lie on one spot share the logarithm of what all of
    them leave, each as to what it would take alone: rows of a part can be summed whatever they are.
    """
    xp = namespace(hazards)
    alone = (
        hazards.with_columns(exponent=-(xp.col(rate) * xp.col("loss_depth") * years))
        .with_columns(gone=xp.col("reach") * -expm1(xp, xp.col("exponent")))
        .with_columns(log_left(xp, xp.col("gone")).alias(into))
    )
    spots = _spots(alone.filter("nested"), into)
    joined = alone.join(spots, on=list(OF_PART), how="left")
    shared = xp.col(into) * xp.when("nested").then(xp.col("spot_factor")).otherwise(1.0)
    return joined.with_columns(shared.alias(into)).drop("spot_factor", "exponent", "gone")


def _spots(nested: Lazy, into: str) -> Lazy:
    """object_id, part and spot_factor: by what the logarithms of the rows on one spot are multiplied."""
    xp = namespace(nested)
    largest_first = nested.select(*OF_PART, "hazard_id", into, "exponent", inner=-xp.col("reach"))
    order = ["inner", "hazard_id"]
    chained = largest_first.with_columns(
        so_far=xp.col("exponent").cum_sum().over(*OF_PART, order_by=order),
        next_inner=xp.col("inner").shift(-1).over(*OF_PART, order_by=order),
    ).with_columns(ring=-xp.col("inner") + xp.col("next_inner").fill_null(0.0))
    lossy = chained.with_columns(spot_loss=xp.col("ring") * -expm1(xp, xp.col("so_far")))
    summed = lossy.group_by(*OF_PART).agg(xp.col("spot_loss").sum(), alone=xp.col(into).sum())
    factor = xp.when(xp.col("alone") < 0).then(log_left(xp, xp.col("spot_loss")) / xp.col("alone")).otherwise(1.0)
    return summed.select(*OF_PART, spot_factor=factor)
