"""How much of a part a damage or repair can still cost: the affected share, how it is known, and how far it reaches."""

import math

import polars as pl

from collection.risk.namespace import Lazy, LazyFrames, Namespace, empty, namespace
from collection.risk.rates import RatesTable
from collection.risk.reach import AFFECTED, ASSUMED, BAND, COUNT, MEASURED, of_same_glass, with_harmed
from collection.risk.years import LIMIT_90
from schemas.records.catalogue import WHOLE
from schemas.vocabularies import vocabulary

# What nobody wrote of a part that only a damage, a repair or a fragment names.
UNLISTED: dict[str, type[pl.DataType]] = {
    "part_kind": pl.String, "value_share": pl.Float64, "enamel_area_mm2": pl.Float64, "location_id": pl.String
}  # fmt: skip
ENDS = ("low", "likely", "high")
SIZE = "size_"  # before the name of a dimension: what stands for it where it is empty
ACROSS = "across_mm"  # what lines.toml calls the measure across a round thing


def with_affected(rows: Lazy, bands: Lazy, rates: RatesTable) -> Lazy:
    """Adds affected_low, affected_share, affected_high [fraction of the part] and extent_basis.

    `rows` has one row a damage or repair with its figures, its part's area and its row of the rates; `bands`: the
    shares of each band. Length, area and count are never added for one damage: the first that fits the kind's `at_risk`
    is taken, then the band, then the count alone, then what the rates assume. A repair that spoils reaches the area
    where harm shows, an unstable glass all enamel of the same glass. Never more than the enamel that is left.
    """
    xp = namespace(rows)
    spoilt = of_same_glass(with_harmed(_as_recorded(rows, rates), bands, rates), rates)
    by_area = xp.col("extent_basis").is_in([MEASURED, COUNT])
    return spoilt.with_columns(
        *(xp.min_horizontal(xp.col(name), xp.col("left_share")).alias(name) for name in AFFECTED),
        area_assumed=xp.col("area_assumed") & by_area,
        area_estimated=xp.col("area_estimated") & by_area,
    )


def _as_recorded(rows: Lazy, rates: RatesTable) -> Lazy:
    """Adds the affected shares as somebody recorded or the rates assume them, extent_basis, and left_share."""
    xp = namespace(rows)
    figures = rows.with_columns(measured=_measured(xp, rates), counted=_counted(xp, rates)).with_columns(
        extent_basis=_first_known(xp, *(xp.lit(word) for word in (MEASURED, BAND, COUNT, ASSUMED))),
        factor=_factor(xp, rates),
        left_share=_left(xp),
        rim=xp.when(xp.col("at_risk") == "edge").then(rates.at_risk.missing_edge_share).otherwise(1.0),
    )
    measured, counted, factor = xp.col("measured"), xp.col("counted"), xp.col("factor")
    guess = rates.area_range.from_dimensions
    band_low, band, band_high = (xp.col(f"band_{end}") * xp.col("rim") for end in ENDS)
    else_low, other, else_high = (xp.col(f"else_{end}") * xp.col("rim") for end in ENDS)
    return figures.with_columns(
        affected_share=_first_known(xp, measured, band, counted, other),
        affected_low=_first_known(xp, measured / factor, band_low, counted / guess, else_low),
        affected_high=_first_known(xp, measured * factor, band_high, counted * guess, else_high),
    )


def reach(xp: Namespace) -> pl.Expr:
    """Fraction of the part a hazard can reach: affected share weighted by how plainly the place shows."""
    return 1 - (1 - xp.col("affected_share")) ** xp.col("visibility")


def _first_known(xp: Namespace, measured: pl.Expr, band: pl.Expr, count: pl.Expr, assumed: pl.Expr) -> pl.Expr:
    counted = xp.when(~xp.col("counted").is_null()).then(count).otherwise(assumed)
    banded = xp.when(~xp.col("band_likely").is_null()).then(band).otherwise(counted)
    return xp.when(~xp.col("measured").is_null()).then(measured).otherwise(banded)


def _measured(xp: Namespace, rates: RatesTable) -> pl.Expr:
    """Measured share of the part that can still be lost, from length or area as the kind says."""
    line = xp.col("length_mm") * rates.at_risk.line_width_mm
    edge = xp.coalesce(xp.col("length_mm"), _round_pieces(xp, xp.col("area_mm2"))) * rates.at_risk.edge_width_mm
    by_area = xp.coalesce(xp.col("area_mm2"), line)
    mm2 = _by_at_risk(xp, line=xp.coalesce(line, xp.col("area_mm2")), edge=edge, otherwise=by_area)
    return mm2 / xp.col("part_area_mm2")


def _counted(xp: Namespace, rates: RatesTable) -> pl.Expr:
    typical = xp.col("count") * xp.col("typical_mm2")
    edge = _round_pieces(xp, typical) * rates.at_risk.edge_width_mm
    return _by_at_risk(xp, line=typical, edge=edge, otherwise=typical) / xp.col("part_area_mm2")


def _by_at_risk(xp: Namespace, line: pl.Expr, edge: pl.Expr, otherwise: pl.Expr) -> pl.Expr:
    rest = xp.when(xp.col("at_risk") == "edge").then(edge).otherwise(otherwise)
    return xp.when(xp.col("at_risk") == "line").then(line).otherwise(rest)


def _round_pieces(xp: Namespace, area: pl.Expr) -> pl.Expr:
    """Edge length of `count` round pieces of this area together [mm]."""
    return 2 * (math.pi * area * xp.coalesce(xp.col("count"), xp.lit(1))).sqrt()


def _factor(xp: Namespace, rates: RatesTable) -> pl.Expr:
    """Factor within which a measured share is right: wider where the part's area is a guess."""
    figure = xp.coalesce(xp.col("length_mm"), xp.col("area_mm2"))
    error = xp.coalesce(1 + LIMIT_90 * xp.col("measurement_error") / figure, xp.lit(rates.area_range.measured))
    from_area = (xp.col("at_risk") == "edge") & xp.col("length_mm").is_null()  # an edge grows with the root of an area
    own = xp.when(from_area).then(error.sqrt()).otherwise(error)
    estimated = xp.when(xp.col("area_estimated")).then(rates.area_range.from_dimensions).otherwise(1.0)
    return own * xp.when(xp.col("area_assumed")).then(rates.area_range.assumed).otherwise(estimated)


def _left(xp: Namespace) -> pl.Expr:
    """The part's enamel less what its recorded losses have taken already, never below 0 [fraction of the part]."""
    by_area = xp.coalesce(xp.col("area_mm2") / xp.col("part_area_mm2"), xp.col("measured"))
    by_count = xp.col("count") * xp.col("typical_mm2") / xp.col("part_area_mm2")
    gone = _first_known(xp, by_area, xp.col("band_likely"), by_count, xp.col("else_likely"))
    lost = xp.when(xp.col("enamel_gone")).then(gone).otherwise(0.0).sum().over("object_id", "part")
    return 1 - xp.min_horizontal(lost, xp.lit(1.0))


def parts(f: LazyFrames, rates: RatesTable) -> Lazy:
    """One row a part of an object that is here, and of any part that a damage, repair or fragment names.

    The part *whole* of an object with named parts has no share of its own. Returns object_id, part, location_id,
    part_share (shares of an object sum to 1), share_assumed, part_area_mm2 [mm²], area_estimated (from dimensions or by
    division among parts), area_assumed (no size is recorded), whole_area_mm2 (of the object), unstable_share, spread (a
    finding on the whole is one on this part too).
    """
    xp = namespace(f["part"])
    known = f["part"].select("object_id", "part", "part_kind", "value_share", "enamel_area_mm2", "location_id")
    of_fragments = f["fragment"].select("object_id", part=xp.coalesce("part", xp.lit(WHOLE)))
    named = xp.concat([*(f[record].select("object_id", "part") for record in ("damage", "repair")), of_fragments])
    unlisted = named.join(known.select("object_id", "part"), on=["object_id", "part"], how="anti").unique()
    every = xp.concat([known, unlisted.with_columns(*(empty(xp, kind).alias(n) for n, kind in UNLISTED.items()))])
    alone = every.filter(xp.col("part") != WHOLE).select("object_id", named=xp.lit(True)).unique()
    marked = every.join(alone, on="object_id", how="left").with_columns(xp.col("named").fill_null(False))
    shared = _with_share(marked.filter((xp.col("part") != WHOLE) | ~xp.col("named")), rates.assumed.trace_share)
    return _with_area(shared, objects_here(f, rates))


def objects_here(f: LazyFrames, rates: RatesTable) -> Lazy:
    """Objects the register answers for: object_id, object_location, object_area_mm2 [mm²], area_from_size, no_size,
    unstable_share. Where no size is recorded, the median of the museum's own objects of the type, else by shape.
    """
    xp = namespace(f["object"])
    away = vocabulary("object_status").terms_where("away")
    here = f["object"].filter(xp.col("status").is_null() | ~xp.col("status").is_in(away))
    measured = here.with_columns(_size(xp, dimension).alias(f"{SIZE}{dimension}") for dimension in _dimensions(rates))
    sized = measured.with_columns(sized_mm2=xp.coalesce(xp.col("enamel_area_mm2"), _area_from_size(xp, rates)))
    of_type = sized.group_by("object_type").agg(sizes=xp.col("sized_mm2").count(), middle=xp.col("sized_mm2").median())
    typical = of_type.filter(xp.col("sizes") >= rates.fewest_of_type).select("object_type", "middle")
    joined = sized.join(typical, on="object_type", how="left")
    return joined.select(
        "object_id",
        "unstable_share",
        object_location="location_id",
        object_area_mm2=xp.coalesce("sized_mm2", "middle", _area_of_shape(xp, rates)),
        area_from_size=xp.col("enamel_area_mm2").is_null() & ~xp.col("sized_mm2").is_null(),
        no_size=xp.col("sized_mm2").is_null(),
    )


def _area_of_shape(xp: Namespace, rates: RatesTable) -> pl.Expr:
    """Area assumed for the shape of the object's type [mm²]."""
    area: pl.Expr = xp.lit(rates.area_mm2[rates.shape_else])
    for shape, types in _types_by_shape(rates).items():
        area = xp.when(xp.col("object_type").is_in(types)).then(rates.area_mm2[shape]).otherwise(area)
    return area


def _types_by_shape(rates: RatesTable) -> dict[str, list[str]]:
    shapes = vocabulary("object_type").properties("shape")
    return {shape: [term for term, its in shapes.items() if its == shape] for shape in rates.shape}


def _area_from_size(xp: Namespace, rates: RatesTable) -> pl.Expr:
    """Enamel area from dimensions (columns SIZE) and the shape of the object's type [mm²]; right within a factor."""
    area = _products(xp, rates, rates.shape_else)
    for shape, types in _types_by_shape(rates).items():
        area = xp.when(xp.col("object_type").is_in(types)).then(_products(xp, rates, shape)).otherwise(area)
    return area


def _products(xp: Namespace, rates: RatesTable, shape: str) -> pl.Expr:
    first, *rest = [
        product.factor * xp.col(f"{SIZE}{product.of[0]}") * xp.col(f"{SIZE}{product.of[1]}")
        for product in rates.shape[shape]
    ]
    return sum(rest, start=first)


def _dimensions(rates: RatesTable) -> list[str]:
    """Every dimension that the area of some shape is reckoned by."""
    return sorted({name for products in rates.shape.values() for product in products for name in product.of})


def _size(xp: Namespace, dimension: str) -> pl.Expr:
    """The dimension, or where it is empty another one; across a round thing it is the largest there is [mm]."""
    if dimension == ACROSS:
        return xp.max_horizontal("diameter_mm", "width_mm", "height_mm", "depth_mm")
    others = ("width_mm", "diameter_mm", "height_mm")
    return xp.coalesce(dimension, *(name for name in others if name != dimension))


def _with_share(every: Lazy, trace: float) -> Lazy:
    xp = namespace(every)
    unjudged = xp.col("value_share").is_null()
    of_unjudged = xp.when(unjudged).then(xp.col("enamel_area_mm2"))
    sums = every.group_by("object_id").agg(
        parts=xp.len(),
        judged=xp.col("value_share").count(),
        measured=xp.col("enamel_area_mm2").count(),
        given=xp.col("value_share").sum(),
        unjudged_area=of_unjudged.sum(),
    )
    by_area = xp.col("enamel_area_mm2") / xp.col("unjudged_area")
    alike = 1 / (xp.col("parts") - xp.col("judged"))
    weight = xp.when(xp.col("measured") == xp.col("parts")).then(by_area).otherwise(alike)
    rest = xp.max_horizontal(1 - xp.col("given"), xp.lit(0.0)) * weight
    guess = xp.when(xp.col("judged") == 0).then(weight).otherwise(xp.max_horizontal(rest, xp.lit(trace)))
    shared = every.join(sums, on="object_id", how="left").with_columns(
        share=xp.when(unjudged).then(guess).otherwise(xp.col("value_share")),
        share_assumed=unjudged & (xp.col("parts") > 1),
    )
    total = shared.with_columns(total=xp.col("share").sum().over("object_id"))
    normal = xp.when(xp.col("total") > 0).then(xp.col("share") / xp.col("total")).otherwise(1 / xp.col("parts"))
    return total.with_columns(part_share=normal)


def _with_area(shared: Lazy, here: Lazy) -> Lazy:
    xp = namespace(shared)
    enamelled = xp.col("part_kind").is_in(vocabulary("part_kind").terms_where("enamelled"))
    any_known = xp.when(enamelled).then(1).otherwise(0).max().over("object_id") > 0
    carries = enamelled | ~any_known
    joined = shared.join(here, on="object_id", how="inner").with_columns(carries=carries)
    of_carrying = xp.when("carries").then("part_share").otherwise(0.0).sum().over("object_id")
    share = xp.when(xp.col("carries") & (of_carrying > 0)).then(xp.col("part_share") / of_carrying)
    joined = joined.with_columns(of_enamel=share.otherwise(xp.col("part_share")))
    area = xp.coalesce(xp.col("enamel_area_mm2"), xp.col("object_area_mm2") * xp.col("of_enamel"))
    divided = xp.col("enamel_area_mm2").is_null()
    whole = xp.when(area > 0).then(area).otherwise(xp.col("object_area_mm2"))
    return joined.select(
        "object_id",
        "part",
        "part_share",
        "share_assumed",
        location_id=xp.coalesce("location_id", "object_location"),
        part_area_mm2=whole,
        area_estimated=divided & ~xp.col("no_size") & (xp.col("area_from_size") | (xp.col("parts") > 1)),
        area_assumed=divided & xp.col("no_size"),
        unstable_share="unstable_share",
        whole_area_mm2="object_area_mm2",
        spread=xp.col("named") & xp.col("carries"),
    )
