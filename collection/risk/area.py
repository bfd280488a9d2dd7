"""Parts with their share of the object's value and their area of enamel."""

import narwhals as nw

from collection.risk.frames import Lazy, LazyFrames
from collection.risk.rates import RatesTable
from schemas.vocabularies import vocabulary


def parts(f: LazyFrames, rates: RatesTable) -> Lazy:
    """One row a part of an object that is here, and of any part that a damage or repair names.

    Returns object_id, part, location_id, part_share (shares of an object sum to 1), share_assumed, part_area_mm2 [mm²],
    area_assumed.
    """
    known = f["part"].select("object_id", "part", "value_share", "enamel_area_mm2", "location_id")
    named = nw.concat([f[record].select("object_id", "part") for record in ("damage", "repair")])
    empty = {"value_share": nw.Float64, "enamel_area_mm2": nw.Float64, "location_id": nw.String}
    unlisted = named.join(known.select("object_id", "part"), on=["object_id", "part"], how="anti").unique()
    every = nw.concat([known, unlisted.with_columns(*(nw.lit(None).cast(t()).alias(n) for n, t in empty.items()))])
    return _with_area(_with_share(every, rates.assumed.trace_share), objects_here(f, rates))


def objects_here(f: LazyFrames, rates: RatesTable) -> Lazy:
    """Objects the register answers for: object_id, object_location, object_area_mm2 [mm²], area_estimated."""
    away = vocabulary("object_status").having("away")
    here = f["object"].filter(nw.col("status").is_null() | ~nw.col("status").is_in(away))
    area = nw.coalesce(nw.col("enamel_area_mm2"), _area_from_size(rates), nw.lit(rates.assumed.area_mm2))
    return here.select(
        "object_id",
        object_location="location_id",
        object_area_mm2=area,
        area_estimated=nw.col("enamel_area_mm2").is_null(),
    )


def _area_from_size(rates: RatesTable) -> nw.Expr:
    """Enamel area from dimensions and the shape of the object's type [mm²]; right within a factor."""
    shapes = vocabulary("object_type").properties("shape")
    area = _products(rates, rates.shape_else)
    for shape in rates.shape:
        types = [term for term, its in shapes.items() if its == shape]
        area = nw.when(nw.col("object_type").is_in(types)).then(_products(rates, shape)).otherwise(area)
    return area


def _products(rates: RatesTable, shape: str) -> nw.Expr:
    first, *rest = [product.factor * _size(product.of[0]) * _size(product.of[1]) for product in rates.shape[shape]]
    return sum(rest, start=first)


def _size(dimension: str) -> nw.Expr:
    """The dimension, or where it is empty another one [mm]."""
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
    area = nw.coalesce(nw.col("enamel_area_mm2"), nw.col("object_area_mm2") * nw.col("part_share"))
    assumed = nw.col("enamel_area_mm2").is_null() & (nw.col("area_estimated") | (nw.col("parts") > 1))
    whole = nw.when(area > 0).then(area).otherwise(nw.col("object_area_mm2"))
    return shared.join(here, on="object_id", how="inner").select(
        "object_id",
        "part",
        "part_share",
        "share_assumed",
        location_id=nw.coalesce("location_id", "object_location"),
        part_area_mm2=whole,
        area_assumed=assumed,
    )
