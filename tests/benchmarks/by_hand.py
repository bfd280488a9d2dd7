"""The risk of each object of the made-up collection as one would write it by hand in Polars: no engine, no rule that
this collection has no row for. It is what the register's time is compared with, after both were found equal.
"""

import polars as pl

from collection.risk.findings import DAMAGE, REPAIR
from collection.risk.rates import RatesTable
from collection.snapshot import Collection
from schemas.vocabularies import vocabulary

c = pl.col
PART = ("object_id", "part")
COLUMNS = (
    "object_id", "hazards", "assumed", "annual_loss", "mean_loss", "collection_loss", "chance_12_months",
    "unsure_times", "assessed_share",
)  # fmt: skip


def risk_by_hand(k: Collection, checks: pl.DataFrame, objects: pl.DataFrame, rates: RatesTable) -> pl.DataFrame:
    """COLUMNS of schema RISK. `checks`: schema CHECKS; `objects`: object_id and value_share."""
    order = checks.lazy().select("check_id", "place_in_order")
    areas = _areas(k, rates)
    found = pl.concat([_damage(k, order, rates), _repairs(k, order, rates)])
    hazards = _lost(_reach(found.join(areas, on="object_id"), rates)).collect(engine="in-memory")
    return _risk(hazards.lazy(), objects.lazy(), rates).collect(engine="in-memory")


def _areas(k: Collection, rates: RatesTable) -> pl.LazyFrame:
    shapes = vocabulary("object_type").properties("shape")
    high, wide = c("height_mm"), c("width_mm")
    size = {"height_mm": high, "width_mm": wide, "across_mm": pl.max_horizontal(high, wide)}
    by_shape = {
        name: sum((p.factor * size.get(p.of[0], wide) * size.get(p.of[1], wide) for p in products), start=pl.lit(0.0))
        for name, products in rates.shape.items()
    }
    area = by_shape[rates.shape_else]
    for name in rates.shape:
        types = [term for term, its in shapes.items() if its == name]
        area = pl.when(c("object_type").is_in(types)).then(by_shape[name]).otherwise(area)
    return k["object"].lazy().select("object_id", "glass_stability", area=area)


def _last(lines: pl.LazyFrame, order: pl.LazyFrame, key: str) -> pl.LazyFrame:
    placed = lines.join(order, on="check_id")
    return placed.filter(c("place_in_order") == c("place_in_order").max().over(key))


def _damage(k: Collection, order: pl.LazyFrame, rates: RatesTable) -> pl.LazyFrame:
    names, states = vocabulary("damage"), vocabulary("activity")
    (unsaid, *_) = states.terms_where("not_assessed")
    costing = ~c("kind").is_in([*names.terms_where("flaw"), *names.terms_where("no_hazard")])
    spoken = c("change").is_null() | ~c("change").is_in(vocabulary("change").terms_where("says_nothing"))
    lines = (
        k["observation"]
        .lazy()
        .filter(spoken)
        .select("check_id", "damage_id", "extent_band", "length_mm", state="activity")
    )
    table = rates.damage.lazy().filter(c("stage") == 0).select("rate_row", "stood_in", kind="term", state="state")
    state = pl.when(c("state").is_in(states.terms_where("needs_climate_held"))).then(pl.lit(unsaid)).otherwise("state")
    known = k["damage"].lazy().filter(c("closed_on").is_null(), costing).join(
        _last(lines, order, "damage_id"), on="damage_id", how="left"
    )  # fmt: skip
    filled = known.with_columns(unknown=c("state").is_null(), state=c("state").fill_null(unsaid)).with_columns(
        state=state
    )
    return filled.join(table, on=["kind", "state"], how="left").select(
        *PART, "rate_row", "visibility", "extent_band", "length_mm",
        hazard_id=pl.format("{}:{}", pl.lit(DAMAGE), "damage_id"), state_assumed=c("unknown") | c("stood_in"),
    )  # fmt: skip


def _repairs(k: Collection, order: pl.LazyFrame, rates: RatesTable) -> pl.LazyFrame:
    states = vocabulary("stability")
    (unsaid, *_) = states.terms_where("not_assessed")
    lines = k["repair_state"].lazy().select("check_id", "repair_id", "extent_band", state="stability")
    beneath = c("kind").is_in(vocabulary("damage").terms_where("beneath"))
    below = (
        k["damage"].lazy().filter(c("closed_on").is_null(), beneath).select(*PART, below=pl.lit(value=True)).unique()
    )
    glass = c("glass_stability").is_in(vocabulary("glass_stability").terms_where("unstable"))
    over = k["object"].lazy().filter(glass).select("object_id", over=pl.lit(value=True))
    known = k["repair"].lazy().filter(c("closed_on").is_null()).join(
        _last(lines, order, "repair_id"), on="repair_id", how="left"
    ).join(below, on=PART, how="left").join(over, on="object_id", how="left")  # fmt: skip
    filled = known.with_columns(unknown=c("state").is_null(), state=c("state").fill_null(unsaid))
    for term, instead in states.properties("without_extent").items():
        spot = c("below").is_null() & (c("state") == term)
        filled = filled.with_columns(state=pl.when(spot).then(pl.lit(instead)).otherwise("state"))
    differs = pl.any_horizontal(
        pl.lit(value=False),
        *((c("function") == t) & (c("state") == s) for t, s in rates.differs_over_unstable_glass),
    )
    staged = filled.with_columns(stage=(differs & c("over").fill_null(value=False)).cast(pl.Int64))
    table = rates.repair.lazy().select("rate_row", "material", "state", "stage", "stood_in", function="term")
    return staged.join(table, on=["function", "material", "state", "stage"], how="left").select(
        *PART, "rate_row", "visibility", "extent_band", length_mm=pl.lit(None, pl.Float64),
        hazard_id=pl.format("{}:{}", pl.lit(REPAIR), "repair_id"), state_assumed=c("unknown") | c("stood_in"),
    )  # fmt: skip


def _reach(found: pl.LazyFrame, rates: RatesTable) -> pl.LazyFrame:
    weights = {term: float(w) for term, w in vocabulary("visibility").properties("weight").items()}
    at_risk, edge = rates.at_risk, c("at_risk") == "edge"
    measured = c("length_mm") * pl.when(edge).then(at_risk.edge_width_mm).otherwise(at_risk.line_width_mm) / c("area")
    rim = pl.when(edge).then(at_risk.missing_edge_share).otherwise(1.0)
    factor = rates.area_range.measured * rates.area_range.from_dimensions
    gone = pl.when("enamel_gone").then(pl.coalesce(measured, "band_likely", "else_likely")).otherwise(0.0)
    ends = {"low": measured / factor, "likely": measured, "high": measured * factor}
    recorded = {n: pl.coalesce(m, c(f"band_{n}") * rim, c(f"else_{n}") * rim) for n, m in ends.items()}
    under = {n: pl.when("beneath").then(c(n)).max().over(PART) for n in ends}
    harmed = {n: pl.when("harmed").then(pl.coalesce(under[n], c(f"harmed_{n}") * c(n))).otherwise(n) for n in ends}
    glass = c("at_risk") == "glass"
    spread = {n: pl.when(glass).then(c(n) * at_risk.glass_times).otherwise(n) for n in ends}
    guessed = (
        pl.when("harmed").then(under["likely"].is_null()).otherwise(measured.is_null() & c("band_likely").is_null())
    )
    return (
        found.join(rates.rows.lazy().drop("stood_in", "moving_years", "learned"), on="rate_row", how="left")
        .join(rates.extent.lazy(), on="extent_band", how="left")
        .with_columns(left=1 - gone.sum().over(PART).clip(upper_bound=1.0), **recorded)
        .with_columns(**harmed, guessed=glass | guessed, sized=measured.is_not_null() & ~c("harmed") & ~glass)
        .with_columns(**spread)
        .with_columns(pl.min_horizontal(n, "left").alias(n) for n in ends)
        .with_columns(reach=1 - (1 - c("likely")) ** c("visibility").replace_strict(weights, default=1.0))
        .with_columns(nested=c("nests") & c("coating").any().over(PART), rate=1 / c("years_likely"))
    )  # fmt: skip


def _lost(hazards: pl.LazyFrame) -> pl.LazyFrame:
    """Adds log and mean_log: damage and coat on one spot share what both of them leave."""
    rows = hazards
    for rate, into in (("rate", "log"), ("mean_rate", "mean_log")):
        exponent = c(rate) * c("loss_depth")
        alone = (-pl.min_horizontal(c("reach") * -_expm1(-exponent), 1 - 2**-53)).log1p()
        rows = rows.with_columns(alone.alias(into))
        order = [-c("reach"), c("hazard_id")]
        spots = rows.filter("nested").with_columns(
            so_far=exponent.cum_sum().over(PART, order_by=order),
            inner=c("reach").shift(-1).over(PART, order_by=order).fill_null(0.0),
        )
        ring = (c("reach") - c("inner")) * -_expm1(-c("so_far"))
        together = (-pl.min_horizontal(ring.sum(), 1 - 2**-53)).log1p()
        shared = spots.group_by(PART).agg(
            times=pl.when(c(into).sum() < 0).then(together / c(into).sum()).otherwise(1.0)
        )
        rows = rows.join(shared, on=PART, how="left").with_columns(
            (c(into) * pl.when("nested").then("times").otherwise(1.0)).alias(into)
        ).drop("times")  # fmt: skip
    return rows


def _expm1(x: pl.Expr) -> pl.Expr:
    """e to the x, less 1, without loss of digits near 0: 2 sinh(x / 2) e^(x / 2)."""
    return 2 * (x / 2).sinh() * (x / 2).exp()


def _risk(hazards: pl.LazyFrame, objects: pl.LazyFrame, rates: RatesTable) -> pl.LazyFrame:
    wide = pl.when(c("low") > 0).then(c("high") / c("low")).otherwise(1.0).log() ** 2
    width = ((c("years_long") / c("years_short")).log() ** 2 + wide).sqrt()
    sums = hazards.group_by("object_id").agg(
        hazards=pl.len(),
        assumed=(c("state_assumed").cast(pl.UInt32) + c("guessed").cast(pl.UInt32) + c("sized").cast(pl.UInt32)).sum(),
        log=c("log").sum(),
        mean_log=c("mean_log").sum(),
        widths=(width * c("log")).sum(),
        assessed=c("log").filter(~c("state_assumed")).sum(),
        counted=c("rate").filter(c("reach") * c("loss_depth") >= rates.lines.p12_counts_losses_from).sum(),
    )
    some = pl.when(c("log") < 0)
    return objects.join(sums, on="object_id", how="left").select(
        "object_id", c("hazards").fill_null(0), c("assumed").fill_null(0),
        annual_loss=-_expm1(c("log").fill_null(0.0)), mean_loss=-_expm1(c("mean_log").fill_null(0.0)),
        collection_loss=-_expm1(c("log").fill_null(0.0)) * c("value_share"),
        chance_12_months=-_expm1(-c("counted").fill_null(0.0)),
        unsure_times=some.then((c("widths") / c("log")).exp()), assessed_share=some.then(c("assessed") / c("log")),
    )  # fmt: skip
