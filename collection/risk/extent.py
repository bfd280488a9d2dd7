"""How much of a part a damage or repair can still cost: the affected share, how it is known, and how far it reaches."""

import math

import narwhals as nw

from collection.risk.frames import Lazy
from collection.risk.rates import RatesTable

MEASURED, BAND, COUNT, ASSUMED = "measured", "band", "count", "assumed"


def with_affected(found: Lazy, rates: RatesTable) -> Lazy:
    """Adds affected_low, affected_share, affected_high [fraction of the part] and extent_basis.

    `found` has one row a damage or repair with its figures, its part's area and its row of the rates. Length, area and
    count are never added for one damage: the first that fits the kind's `at_risk` is taken, then the band, then the
    count alone, then what the rates assume. Never more than the enamel that is left.
    """
    figures = found.with_columns(measured=_measured(rates), counted=_counted(rates)).with_columns(
        extent_basis=_first_known(*(nw.lit(word) for word in (MEASURED, BAND, COUNT, ASSUMED))),
        factor=_factor(rates),
        left_share=_left(),
        rim=nw.when(nw.col("at_risk") == "edge").then(rates.at_risk.missing_edge_share).otherwise(1.0),
    )
    measured, counted, rim = nw.col("measured"), nw.col("counted"), nw.col("rim")
    widest = rates.assumed.area_factor
    likely = _first_known(measured, nw.col("band_likely") * rim, counted, nw.col("else_likely") * rim)
    low = _first_known(
        measured / nw.col("factor"), nw.col("band_low") * rim, counted / widest, nw.col("else_low") * rim
    )
    high = _first_known(
        measured * nw.col("factor"), nw.col("band_high") * rim, counted * widest, nw.col("else_high") * rim
    )
    told = figures.with_columns(affected_share=likely, affected_low=low, affected_high=high)
    names = ("affected_low", "affected_share", "affected_high")
    by_area = nw.col("extent_basis").is_in([MEASURED, COUNT])
    return told.with_columns(
        *(nw.min_horizontal(nw.col(name), nw.col("left_share")).alias(name) for name in names),
        area_assumed=nw.col("area_assumed") & by_area,
    )


def reach() -> nw.Expr:
    """Fraction of the part a hazard can reach: affected share weighted by how plainly the place shows."""
    return 1 - (1 - nw.col("affected_share")) ** nw.col("visibility")


def _first_known(measured: nw.Expr, band: nw.Expr, count: nw.Expr, assumed: nw.Expr) -> nw.Expr:
    counted = nw.when(~nw.col("counted").is_null()).then(count).otherwise(assumed)
    banded = nw.when(~nw.col("band_likely").is_null()).then(band).otherwise(counted)
    return nw.when(~nw.col("measured").is_null()).then(measured).otherwise(banded)


def _measured(rates: RatesTable) -> nw.Expr:
    """Measured share of the part that can still be lost, from length or area as the kind says."""
    line = nw.col("length_mm") * rates.at_risk.line_width_mm
    edge = nw.coalesce(nw.col("length_mm"), _round_pieces(nw.col("area_mm2"))) * rates.at_risk.edge_width_mm
    by_area = nw.coalesce(nw.col("area_mm2"), line)
    mm2 = _by_at_risk(line=nw.coalesce(line, nw.col("area_mm2")), edge=edge, otherwise=by_area)
    return mm2 / nw.col("part_area_mm2")


def _counted(rates: RatesTable) -> nw.Expr:
    typical = nw.col("count") * nw.col("typical_mm2")
    edge = _round_pieces(typical) * rates.at_risk.edge_width_mm
    return _by_at_risk(line=typical, edge=edge, otherwise=typical) / nw.col("part_area_mm2")


def _by_at_risk(line: nw.Expr, edge: nw.Expr, otherwise: nw.Expr) -> nw.Expr:
    rest = nw.when(nw.col("at_risk") == "edge").then(edge).otherwise(otherwise)
    return nw.when(nw.col("at_risk") == "line").then(line).otherwise(rest)


def _round_pieces(area: nw.Expr) -> nw.Expr:
    """Edge length of `count` round pieces of this area together [mm]."""
    return 2 * (math.pi * area * nw.coalesce(nw.col("count"), nw.lit(1))).sqrt()


def _factor(rates: RatesTable) -> nw.Expr:
    """Factor within which a measured share is right: wider where the part's area is a guess."""
    figure = nw.coalesce(nw.col("length_mm"), nw.col("area_mm2"))
    own = 1 + rates.assumed.limit_90 * nw.col("measurement_error") / figure
    guess = nw.when(nw.col("area_assumed")).then(rates.assumed.area_factor).otherwise(1.0)
    return nw.coalesce(own, nw.lit(rates.assumed.measured_factor)) * guess


def _left() -> nw.Expr:
    """The part's enamel less what its recorded losses have taken already, never below 0 [fraction of the part]."""
    by_area = nw.coalesce(nw.col("area_mm2") / nw.col("part_area_mm2"), nw.col("measured"))
    by_count = nw.col("count") * nw.col("typical_mm2") / nw.col("part_area_mm2")
    gone = _first_known(by_area, nw.col("band_likely"), by_count, nw.col("else_likely"))
    taken = nw.when(nw.col("enamel_gone")).then(gone).otherwise(0.0).sum().over("object_id", "part")
    return 1 - nw.min_horizontal(taken, nw.lit(1.0))
