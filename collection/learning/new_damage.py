"""New damage: damage that was not there at the inspection before, counted by object-years."""

import polars as pl

from collection.frames import returns
from collection.learning.histories import handled_days
from collection.risk.parameters import DAYS_A_YEAR
from collection.risk.quiet import inspected
from collection.snapshot import Collection
from schemas.vocabularies import vocabulary

NEW_DAMAGE = pl.Schema(
    {"object_id": pl.String, "starts_on": pl.Date, "ends_on": pl.Date, "exposure_years": pl.Float64}
    | {"events": pl.Int64, "handled": pl.Boolean}
)
OBJECT_INTERVALS = pl.Schema(
    dict.fromkeys(("object_id", "check_id", "end_check_id"), pl.String)
    | {"starts_on": pl.Date, "ends_on": pl.Date, "exposure_years": pl.Float64, "handled": pl.Boolean}
)
FIRST_LINES = pl.Schema(dict.fromkeys(("check_id", "damage_id", "kind"), pl.String))
c = pl.col


@returns(NEW_DAMAGE)
def new_damage(collection: Collection, checks: pl.DataFrame) -> pl.DataFrame:
    """Intervals between successive inspections of an object, with the new damage the second one tells of.

    New is a damage whose first line is in that check and whose onset says that it was not there at the last look.
    exposure_years [object-year]; handled as in `histories`. A change of look makes no interval.
    """
    counts = first_lines(collection, checks).group_by("check_id").agg(events=pl.len().cast(pl.Int64))
    intervals = object_intervals(collection, checks)
    counted = intervals.join(counts, left_on="end_check_id", right_on="check_id", how="left")
    return counted.with_columns(c("events").fill_null(0)).select(*NEW_DAMAGE).sort("object_id", "starts_on")


@returns(OBJECT_INTERVALS)
def object_intervals(collection: Collection, checks: pl.DataFrame) -> pl.DataFrame:
    """Successive inspections of an object by the same look, schema OBJECT_INTERVALS; `checks`: schema CHECKS."""
    seen = checks.filter(inspected(), c("seen_on").is_not_null()).sort("object_id", "place_in_order")
    following = {f"end_{n}": c(n).shift(-1).over("object_id") for n in ("seen_on", "look", "check_id")}
    pairs = seen.with_columns(**following).filter(c("end_look") == c("look"), c("end_seen_on") > c("seen_on"))
    days = handled_days(collection, checks).rename({"day": "last_handled"})
    last = pairs.sort("end_seen_on").join_asof(
        days, left_on="end_seen_on", right_on="last_handled", by="object_id", check_sortedness=False
    )
    named = last.with_columns(
        starts_on="seen_on", ends_on="end_seen_on",
        exposure_years=(c("end_seen_on") - c("seen_on")).dt.total_days() / DAYS_A_YEAR,
        handled=(c("last_handled") > c("seen_on")).fill_null(value=False),
    )  # fmt: skip
    return named.select(*OBJECT_INTERVALS).sort("object_id", "starts_on")


@returns(FIRST_LINES)
def first_lines(collection: Collection, checks: pl.DataFrame) -> pl.DataFrame:
    """New damage and the inspection that is the first to tell of it, schema FIRST_LINES; `checks`: schema CHECKS."""
    seen = checks.filter(inspected(), c("seen_on").is_not_null())
    fresh = collection["damage"].filter(c("onset").is_in(vocabulary("onset").terms_where("new")))
    lines = collection["observation"].select("damage_id", "check_id").join(
        fresh.select("damage_id", "kind"), on="damage_id"
    )  # fmt: skip
    ordered = lines.join(seen.select("check_id", "place_in_order"), on="check_id").sort("place_in_order", "damage_id")
    return ordered.unique("damage_id", keep="first", maintain_order=True).select(*FIRST_LINES)
