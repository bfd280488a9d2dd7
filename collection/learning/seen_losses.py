"""What checks saw lost in between: growth of damage and of harm beyond error, and new losses, by value."""

from datetime import date

import polars as pl

from collection.frames import returns
from collection.learning.inspected_lines import LENGTH
from collection.risk.extent import parts
from collection.risk.hazards import hazard_id
from collection.risk.quiet import inspected
from collection.risk.rate_rows import DAMAGE, REPAIR
from collection.risk.rates import RatesTable
from collection.risk.years import LIMIT_90
from collection.snapshot import Collection
from schemas.records.catalogue import WHOLE
from schemas.vocabularies import vocabulary

SPANS = pl.Schema({"object_id": pl.String, "starts_on": pl.Date, "ends_on": pl.Date})
SEEN = pl.Schema(
    {"hazard_id": pl.String, "object_id": pl.String, "part": pl.String, "new": pl.Boolean, "unmeasured": pl.Boolean}
    | {"grown_share": pl.Float64, "part_share": pl.Float64, "visibility": pl.Float64}
)
LINE = ("seen_on", "state", "measured", "error", "unit", "count", "band")
c = pl.col


@returns(SPANS)
def spans(checks: pl.DataFrame, cut: date) -> pl.DataFrame:
    """Of each object inspected both before and after the cut: its last inspection before, and the last one there is.

    `checks`: schema CHECKS, of the register as known at the end of the years looked at.
    """
    seen = checks.filter(inspected(), c("seen_on").is_not_null())
    before, after = seen.filter(c("seen_on") <= cut), seen.filter(c("seen_on") > cut)
    starts = before.group_by("object_id").agg(starts_on=c("seen_on").max())
    ends = after.group_by("object_id").agg(ends_on=c("seen_on").max())
    return starts.join(ends, on="object_id").sort("object_id")


def closed_between(collection: Collection, of_objects: pl.DataFrame) -> pl.DataFrame:
    """hazard_id of what a treatment, or anything else, closed within the span of its object."""
    closed = pl.concat(
        [
            collection[record].select("object_id", "closed_on", hazard_id=hazard_id(record, f"{record}_id"))
            for record in (DAMAGE, REPAIR)
        ]
    )
    within = closed.join(of_objects, on="object_id").filter(
        c("closed_on") > c("starts_on"), c("closed_on") <= c("ends_on")
    )
    return within.select("hazard_id")


@returns(SEEN)
def seen_losses(
    collection: Collection, lines: pl.DataFrame, of_objects: pl.DataFrame, rates: RatesTable
) -> pl.DataFrame:
    """One row a damage or repair that grew, or is new and a loss, within the span of its object; schema SEEN.

    Parameters
    ----------
    collection : as known at the end. lines : its schema LINES. of_objects : schema SPANS.

    Returns
    -------
    grown_share [share of the part]: by area or length where growth is beyond error, else by band or count where a line
    says that it grew. unmeasured: something happened and nobody wrote how much; it counts as nothing.
    """
    shares = _parts(collection, rates)
    both = lines.join(of_objects, on="object_id").join(
        closed_between(collection, of_objects), on="hazard_id", how="anti"
    )
    known = both.join(shares, on=["object_id", "part"], how="left").join(_visibility(collection), on="hazard_id")
    sized = _sized(known, rates)
    rows = pl.concat([_grown(sized, rates), _new(sized, collection, rates)])
    happened = rows.filter((c("grown_share") > 0) | c("unmeasured"))
    return happened.with_columns(c("part_share").fill_null(1.0)).select(*SEEN).sort("hazard_id")


def seen_total(seen: pl.DataFrame, worth: pl.DataFrame) -> float:
    """Share of the collection's value: value share x part share x (1 - (1 - grown share)^visibility), summed.

    `worth`: object_id, value_share.
    """
    lost = 1 - (1 - c("grown_share").clip(0, 1)) ** c("visibility")
    by_value = seen.join(worth, on="object_id").select(c("value_share") * c("part_share") * lost)
    return float(by_value.to_series().sum())


def _parts(collection: Collection, rates: RatesTable) -> pl.DataFrame:
    """object_id, part, part_share, part_area_mm2; the whole of an object with named parts has share 1."""
    names = ("object", "part", "fragment", "damage", "repair")
    every = parts({n: collection[n].lazy() for n in names}, rates).collect(engine="in-memory")
    named = every.select("object_id", "part", "part_share", "part_area_mm2")
    whole = every.filter("spread").unique("object_id").select(
        "object_id", part=pl.lit(WHOLE), part_share=pl.lit(1.0), part_area_mm2="whole_area_mm2"
    )  # fmt: skip
    return pl.concat([named, whole])


def _visibility(collection: Collection) -> pl.DataFrame:
    weights = vocabulary("visibility").properties("weight")
    weight = c("visibility").replace_strict(weights, default=1.0, return_dtype=pl.Float64)
    return pl.concat(
        [
            collection[record].select(hazard_id=hazard_id(record, f"{record}_id"), visibility=weight)
            for record in (DAMAGE, REPAIR)
        ]
    )


def _sized(lines: pl.DataFrame, rates: RatesTable) -> pl.DataFrame:
    """Adds shares of the part by what was measured, by band and by count, and their error."""
    width = pl.when(c("unit") == LENGTH).then(rates.at_risk.line_width_mm).otherwise(1.0)
    typical = rates.rows.select("rate_row", "typical_mm2", "enamel_gone")
    guess = c("measured") * (rates.area_range.measured - 1) / LIMIT_90
    bands = rates.extent.select(band="extent_band", by_band="band_likely")
    sized = lines.join(typical, on="rate_row", how="left").join(bands, on="band", how="left")
    return sized.with_columns(
        by_measure=c("measured") * width / c("part_area_mm2"),
        error_share=c("error").fill_null(guess) * width / c("part_area_mm2"),
        by_count=c("count") * c("typical_mm2") / c("part_area_mm2"),
    )


def _grown(sized: pl.DataFrame, rates: RatesTable) -> pl.DataFrame:
    """What was there at the start, with its growth to the last line."""
    keys, values = ["hazard_id"], ("by_measure", "error_share", "by_band", "by_count", "unit", "state")
    first = sized.filter(c("seen_on") <= c("starts_on")).sort("place_in_order").unique(keys, keep="last")
    after = sized.filter(c("seen_on") > c("starts_on"), c("seen_on") <= c("ends_on")).sort("place_in_order")
    last = after.group_by(keys).agg(*(c(n).last().alias(f"end_{n}") for n in values), grew_in_words=c("grown").any())
    pairs = first.join(last, on=keys)
    comparable = c("unit") == c("end_unit")
    error = ((c("error_share") ** 2 + c("end_error_share") ** 2) / 2).sqrt()
    measured = pl.when(comparable).then(c("end_by_measure") - c("by_measure"))
    beyond = pl.when(measured > rates.lines.growth_beyond * error).then(measured).otherwise(0.0)
    rough = [(c(f"end_{n}") - c(n)).clip(lower_bound=0) for n in ("by_band", "by_count")]
    worse = c("grew_in_words") | _spoilt()
    in_words = pl.when(worse).then(pl.coalesce(*rough)).otherwise(0.0)
    share = pl.when(measured.is_not_null()).then(beyond).otherwise(in_words).fill_null(0.0)
    return pairs.with_columns(grown_share=share, new=pl.lit(value=False)).with_columns(
        unmeasured=worse & measured.is_null() & (c("grown_share") == 0)
    ).select(*SEEN)  # fmt: skip


def _spoilt() -> pl.Expr:
    """A repair that no longer works or does harm, and did not before."""
    stability = vocabulary("stability")
    grave = [*stability.terms_where("no_longer_works"), *stability.terms_where("does_harm")]
    return (c("source") == REPAIR) & ~c("state").is_in(grave) & c("end_state").is_in(grave)


def _new(sized: pl.DataFrame, collection: Collection, rates: RatesTable) -> pl.DataFrame:
    """Losses that were not there at the last look, by their last line."""
    fresh = collection["damage"].filter(c("onset").is_in(vocabulary("onset").terms_where("new")))
    named = fresh.select(hazard_id=hazard_id(DAMAGE, "damage_id"))
    firsts = sized.filter(c("seen_on").min().over("hazard_id") > c("starts_on"), "enamel_gone")
    last = firsts.filter(c("seen_on") <= c("ends_on")).sort("place_in_order").unique("hazard_id", keep="last")
    share = pl.coalesce("by_measure", "by_band", "by_count")
    return last.join(named, on="hazard_id", how="semi").with_columns(
        grown_share=share.fill_null(0.0), unmeasured=share.is_null(), new=pl.lit(value=True)
    ).select(*SEEN)  # fmt: skip


__all__ = ["SEEN", "SPANS", "closed_between", "seen_losses", "seen_total", "spans"]
