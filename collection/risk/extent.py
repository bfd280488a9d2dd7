"""How much of a part a damage or repair can still cost: the affected share, how it is known, and how far it reaches."""

import math

import narwhals as nw

from collection.risk.rates import RatesTable
from collection.risk.reach import AFFECTED, ASSUMED, BAND, COUNT, MEASURED, of_same_glass, with_harmed
from collection.risk.series import Lazy, LazyFrames
from collection.risk.years import LIMIT_90
from schemas.records.catalogue import WHOLE
from schemas.vocabularies import vocabulary

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
    spoilt = of_same_glass(with_harmed(_as_recorded(rows, rates), bands, rates), rates)
    by_area = nw.col("extent_basis").is_in([MEASURED, COUNT])
    return spoilt.with_columns(
        *(nw.min_horizontal(nw.col(name), nw.col("left_share")).alias(name) for name in AFFECTED),
        area_assumed=nw.col("area_assumed") & by_area,
        area_estimated=nw.col("area_estimated") & by_area,
    )


def _as_recorded(rows: Lazy, rates: RatesTable) -> Lazy:
    """Adds the affected shares as somebody recorded or the rates assume them, extent_basis, and left_share."""
    figures = rows.with_columns(measured=_measured(rates), counted=_counted(rates)).with_columns(
        extent_basis=_first_known(*(nw.lit(word) for word in (MEASURED, BAND, COUNT, ASSUMED))),
        factor=_factor(rates),
        left_share=_left(),
        rim=nw.when(nw.col("at_risk") == "edge").then(rates.at_risk.missing_edge_share).otherwise(1.0),
    )
    measured, counted, factor = nw.col("measured"), nw.col("counted"), nw.col("factor")
    guess = rates.area_range.from_dimensions
    band_low, band, band_high = (nw.col(f"band_{end}") * nw.col("rim") for end in ENDS)
    else_low, other, else_high = (nw.col(f"else_{end}") * nw.col("rim") for end in ENDS)
    return figures.with_columns(
        affected_share=_first_known(measured, band, counted, other),
        affected_low=_first_known(measured / factor, band_low, counted / guess, else_low),
        affected_high=_first_known(measured * factor, band_high, counted * guess, else_high),
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
    error = nw.coalesce(1 + LIMIT_90 * nw.col("measurement_error") / figure, nw.lit(rates.area_range.measured))
    from_area = (nw.col("at_risk") == "edge") & nw.col("length_mm").is_null()  # an edge grows with the root of an area
    own = nw.when(from_area).then(error.sqrt()).otherwise(error)
    estimated = nw.when(nw.col("area_estimated")).then(rates.area_range.from_dimensions).otherwise(1.0)
    return own * nw.when(nw.col("area_assumed")).then(rates.area_range.assumed).otherwise(estimated)


def _left() -> nw.Expr:
    """The part's enamel less what its recorded losses have taken already, never below 0 [fraction of the part]."""
    by_area = nw.coalesce(nw.col("area_mm2") / nw.col("part_area_mm2"), nw.col("measured"))
    by_count = nw.col("count") * nw.col("typical_mm2") / nw.col("part_area_mm2")
    gone = _first_known(by_area, nw.col("band_likely"), by_count, nw.col("else_likely"))
    lost = nw.when(nw.col("enamel_gone")).then(gone).otherwise(0.0).sum().over("object_id", "part")
    return 1 - nw.min_horizontal(lost, nw.lit(1.0))


def parts(f: LazyFrames, rates: RatesTable) -> Lazy:
    """One row a part of an object that is here, and of any part that a damage, repair or fragment names.

    The part *whole* of an object with named parts has no share of its own. Returns object_id, part, location_id,
    part_share (shares of an object sum to 1), share_assumed, part_area_mm2 [mm²], area_estimated (from dimensions or by
    division among parts), area_assumed (no size is recorded), whole_area_mm2 (of the object), unstable_share, spread (a
    finding on the whole is one on this part too).
    """
    known = f["part"].select("object_id", "part", "part_kind", "value_share", "enamel_area_mm2", "location_id")
    of_fragments = f["fragment"].select("object_id", part=nw.coalesce("part", nw.lit(WHOLE)))
    named = nw.concat([*(f[record].select("object_id", "part") for record in ("damage", "repair")), of_fragments])
    empty = {"part_kind": nw.String, "value_share": nw.Float64, "enamel_area_mm2": nw.Float64, "location_id": nw.String}
    unlisted = named.join(known.select("object_id", "part"), on=["object_id", "part"], how="anti").unique()
    every = nw.concat([known, unlisted.with_columns(*(nw.lit(None).cast(t()).alias(n) for n, t in empty.items()))])
    alone = every.filter(nw.col("part") != WHOLE).select("object_id", named=nw.lit(True)).unique()
    marked = every.join(alone, on="object_id", how="left").with_columns(nw.col("named").fill_null(False))
    shared = _with_share(marked.filter((nw.col("part") != WHOLE) | ~nw.col("named")), rates.assumed.trace_share)
    return _with_area(shared, objects_here(f, rates))


def objects_here(f: LazyFrames, rates: RatesTable) -> Lazy:
    """Objects the register answers for: object_id, object_location, object_area_mm2 [mm²], area_from_size, no_size,
    unstable_share. Where no size is recorded, the median of the museum's own objects of the type, else by shape.
    """
    away = vocabulary("object_status").terms_where("away")
    here = f["object"].filter(nw.col("status").is_null() | ~nw.col("status").is_in(away))
    measured = here.with_columns(_size(dimension).alias(f"{SIZE}{dimension}") for dimension in _dimensions(rates))
    sized = measured.with_columns(sized_mm2=nw.coalesce(nw.col("enamel_area_mm2"), _area_from_size(rates)))
    of_type = sized.group_by("object_type").agg(sizes=nw.col("sized_mm2").count(), middle=nw.col("sized_mm2").median())
    typical = of_type.filter(nw.col("sizes") >= rates.fewest_of_type).select("object_type", "middle")
    joined = sized.join(typical, on="object_type", how="left")
    return joined.select(
        "object_id",
        "unstable_share",
        object_location="location_id",
        object_area_mm2=nw.coalesce("sized_mm2", "middle", _area_of_shape(rates)),
        area_from_size=nw.col("enamel_area_mm2").is_null() & ~nw.col("sized_mm2").is_null(),
        no_size=nw.col("sized_mm2").is_null(),
    )


def _area_of_shape(rates: RatesTable) -> nw.Expr:
    """Area assumed for the shape of the object's type [mm²]."""
    area: nw.Expr = nw.lit(rates.area_mm2[rates.shape_else])
    for shape, types in _types_by_shape(rates).items():
        area = nw.when(nw.col("object_type").is_in(types)).then(rates.area_mm2[shape]).otherwise(area)
    return area


def _types_by_shape(rates: RatesTable) -> dict[str, list[str]]:
    shapes = vocabulary("object_type").properties("shape")
    return {shape: [term for term, its in shapes.items() if its == shape] for shape in rates.shape}


def _area_from_size(rates: RatesTable) -> nw.Expr:
    """Enamel area from dimensions (columns SIZE) and the shape of the object's type [mm²]; right within a factor."""
    area = _products(rates, rates.shape_else)
    for shape, types in _types_by_shape(rates).items():
        area = nw.when(nw.col("object_type").is_in(types)).then(_products(rates, shape)).otherwise(area)
    return area


def _products(rates: RatesTable, shape: str) -> nw.Expr:
    first, *rest = [
        product.factor * nw.col(f"{SIZE}{product.of[0]}") * nw.col(f"{SIZE}{product.of[1]}")
        for product in rates.shape[shape]
    ]
    return sum(rest, start=first)


def _dimensions(rates: RatesTable) -> list[str]:
    """Every dimension that the area of some shape is reckoned by."""
    return sorted({name for products in rates.shape.values() for product in products for name in product.of})


def _size(dimension: str) -> nw.Expr:
    """The dimension, or where it is empty another one; across a round thing it is the largest there is [mm]."""
    if dimension == ACROSS:
        return nw.max_horizontal("diameter_mm", "width_mm", "height_mm", "depth_mm")
    others = ("width_mm", "diameter_mm", "height_mm")
    return nw.coalesce(dimension, *(name for name in others if name != dimension))


def _with_share(every: Lazy, trace: float) -> Lazy:
    unjudged = nw.col("value_share").is_null()
    of_unjudged = nw.when(unjudged).then(nw.col("enamel_area_mm2"))
    sums = every.group_by("object_id").agg(
        parts=nw.len(),
        judged=nw.col("value_share").count(),
        measured=nw.col("enamel_area_mm2").count(),
        given=nw.col("value_share").sum(),
        unjudged_area=of_unjudged.sum(),
    )
    by_area = nw.col("enamel_area_mm2") / nw.col("unjudged_area")
    alike = 1 / (nw.col("parts") - nw.col("judged"))
    weight = nw.when(nw.col("measured") == nw.col("parts")).then(by_area).otherwise(alike)
    rest = nw.max_horizontal(1 - nw.col("given"), nw.lit(0.0)) * weight
    guess = nw.when(nw.col("judged") == 0).then(weight).otherwise(nw.max_horizontal(rest, nw.lit(trace)))
    shared = every.join(sums, on="object_id", how="left").with_columns(
        share=nw.when(unjudged).then(guess).otherwise(nw.col("value_share")),
        share_assumed=unjudged & (nw.col("parts") > 1),
    )
    total = shared.with_columns(total=nw.col("share").sum().over("object_id"))
    normal = nw.when(nw.col("total") > 0).then(nw.col("share") / nw.col("total")).otherwise(1 / nw.col("parts"))
    return total.with_columns(part_share=normal)


def _with_area(shared: Lazy, here: Lazy) -> Lazy:
    enamelled = nw.col("part_kind").is_in(vocabulary("part_kind").terms_where("enamelled"))
    any_known = nw.when(enamelled).then(1).otherwise(0).max().over("object_id") > 0
    carries = enamelled | ~any_known
    joined = shared.join(here, on="object_id", how="inner").with_columns(carries=carries)
    of_carrying = nw.when("carries").then("part_share").otherwise(0.0).sum().over("object_id")
    share = nw.when(nw.col("carries") & (of_carrying > 0)).then(nw.col("part_share") / of_carrying)
    joined = joined.with_columns(of_enamel=share.otherwise(nw.col("part_share")))
    area = nw.coalesce(nw.col("enamel_area_mm2"), nw.col("object_area_mm2") * nw.col("of_enamel"))
    divided = nw.col("enamel_area_mm2").is_null()
    whole = nw.when(area > 0).then(area).otherwise(nw.col("object_area_mm2"))
    return joined.select(
        "object_id",
        "part",
        "part_share",
        "share_assumed",
        location_id=nw.coalesce("location_id", "object_location"),
        part_area_mm2=whole,
        area_estimated=divided & ~nw.col("no_size") & (nw.col("area_from_size") | (nw.col("parts") > 1)),
        area_assumed=divided & nw.col("no_size"),
        unstable_share="unstable_share",
        whole_area_mm2="object_area_mm2",
        spread=nw.col("named") & nw.col("carries"),
    )
