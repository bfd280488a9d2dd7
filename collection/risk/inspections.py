"""The last look at each object, and what each is worth beside the others."""

import polars as pl

from collection.frames import returns
from collection.risk.findings import CHECKS, checks_in_order
from collection.risk.kinds import with_technique_key
from collection.risk.rates import RatesTable
from collection.risk.unchecked import first_checks, unchecked
from collection.snapshot import ENTRY_NO, Collection
from schemas.vocabularies import vocabulary

LOOKS = pl.Schema(
    {"object_id": pl.String, "look": pl.String, "last_checked_on": pl.Date, "look_check_id": pl.String}
    | {"visit": pl.String, "grade": pl.String, "next_check_on": pl.Date}
)


@returns(CHECKS)
def inspections(collection: Collection) -> pl.DataFrame:
    """Checks that no later one corrects, in the order they were made; schema CHECKS of `collection.risk.findings`."""
    ordered = checks_in_order({"condition_check": collection["condition_check"].lazy()})
    return ordered.sort("place_in_order").collect(engine="in-memory")


@returns(LOOKS)
def looks(checks: pl.DataFrame) -> pl.DataFrame:
    """Last look at each object that had any, schema LOOKS; `checks`: schema CHECKS.

    last_checked_on is null where the only looks are remarks, or where nobody could reach the object.
    """
    order = pl.col("place_in_order") + pl.when("in_person").then(pl.len()).otherwise(0)
    ordered = checks.lazy().with_columns(in_person=in_person()).with_columns(order=order)
    last = ordered.filter(pl.col("order") == pl.col("order").max().over("object_id"))
    named = last.with_columns(last_checked_on=pl.when("in_person").then("seen_on"), look_check_id="check_id")
    return named.select(*LOOKS).collect(engine="in-memory")


def in_person() -> pl.Expr:
    """True for a check in which somebody saw the object itself."""
    near, reached = vocabulary("look").terms_where("in_person"), vocabulary("visit").terms_where("reached")
    return pl.col("look").is_in(near) & pl.col("visit").is_in(reached).fill_null(True)


def with_value(objects: pl.LazyFrame, collection: Collection, rates: RatesTable) -> pl.LazyFrame:
    """Adds value_share, the share of the collection's value of each object (0 for what is away), and value_assumed.

    Value points, or insured value if the museum chose so; where empty the median of the known, else what is assumed.
    """
    insured = rates.value_basis != "value_points"
    judged = collection["significance"].lazy().sort("judged_on", ENTRY_NO).group_by("object_id")
    last = judged.agg(judged=pl.col("value_points").last())
    own = pl.col("insured_value").cast(pl.Float64) if insured else pl.col("value_points").fill_null(pl.col("judged"))
    middle = pl.col("known_value").median().fill_null(rates.assumed.value_points)
    worth = pl.when("away").then(0.0).otherwise(pl.col("known_value").fill_null(middle))
    share = pl.when(worth.sum() > 0).then(worth / worth.sum()).otherwise(0.0)
    known = objects.join(last, on="object_id", how="left").with_columns(known_value=own)
    return known.with_columns(value_share=share, value_assumed=pl.col("known_value").is_null() & ~pl.col("away"))


KNOWN = pl.Schema(
    {"object_id": pl.String, "location_id": pl.String, "look": pl.String, "last_checked_on": pl.Date}
    | {"value_share": pl.Float64, "value_assumed": pl.Boolean, "unchecked_loss": pl.Float64}
)


@returns(KNOWN)
def known(collection: Collection, checks: pl.DataFrame, looks: pl.DataFrame, rates: RatesTable) -> pl.DataFrame:
    """One row an object, schema KNOWN: what `object_risk()` reads beside the hazards. Shares of 1."""
    record = with_technique_key(collection["object"])
    away = pl.col("status").is_in(vocabulary("object_status").terms_where("away")).fill_null(False)
    seen = record.with_columns(away=away).join(looks, on="object_id", how="left")
    worth = with_value(seen.lazy(), collection, rates).collect(engine="in-memory")
    expected = unchecked(collection, checks, worth, first_checks(collection, checks, record, rates))
    joined = worth.join(
        expected.select("object_id", "unchecked_loss"), on="object_id", how="left", maintain_order="left"
    )
    here = joined.with_columns(unchecked_loss=pl.when("away").then(0.0).otherwise("unchecked_loss"))
    return here.select(*KNOWN)
