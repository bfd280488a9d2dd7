"""The last look at each object, and what each object is worth beside the others."""

from datetime import date

import polars as pl

from collection.risk.place import checks_counted
from collection.risk.rates import RatesTable
from collection.snapshot import Collection
from schemas.vocabularies import vocabulary

LOOKS = pl.Schema(
    {"object_id": pl.String, "look": pl.String, "last_checked_on": pl.Date, "look_check_id": pl.String}
    | {"visit": pl.String, "next_check_on": pl.Date}
)
VALUES = pl.Schema({"object_id": pl.String, "value_share": pl.Float64, "value_assumed": pl.Boolean})


def looks(collection: Collection, as_of: date) -> pl.DataFrame:
    """Last look at each object that had any, schema LOOKS.

    last_checked_on is null where the only looks are remarks, or where nobody could reach the object.
    """
    checks = checks_counted(collection, as_of).lazy().with_columns(in_person=_in_person())
    order = pl.col("place_in_order") + pl.when("in_person").then(pl.len()).otherwise(0)
    last = checks.with_columns(order=order)
    best = last.group_by("object_id").agg(pl.col("order").max())
    chosen = last.join(best, on=["object_id", "order"])
    named = chosen.with_columns(last_checked_on=pl.when("in_person").then("seen_on"), look_check_id="check_id")
    return named.select(*LOOKS).collect()


def _in_person() -> pl.Expr:
    near, reached = vocabulary("look").having("in_person"), vocabulary("visit").having("reached")
    return pl.col("look").is_in(near) & pl.col("visit").is_in(reached).fill_null(True)


def values(collection: Collection, rates: RatesTable) -> pl.DataFrame:
    """Share of the collection's value of each object, schema VALUES; 0 for what is not here.

    Value points, or insured value if the museum chose so; where empty the median of the known, else what is assumed.
    """
    objects = collection["object"]
    name = rates.value_basis if rates.value_basis in objects.columns else "value_points"
    judged = (
        collection["significance"]
        .sort("judged_on", "judged_by")
        .group_by("object_id")
        .agg(judged=pl.col("value_points").last())
    )
    own = pl.col(name).cast(pl.Float64)
    known = objects.join(judged, on="object_id", how="left").select(
        "object_id", "status", known=own.fill_null(pl.col("judged")) if name == "value_points" else own
    )
    away = pl.col("status").is_in(vocabulary("object_status").having("away")).fill_null(False)
    middle = pl.col("known").median().fill_null(rates.assumed.value_points)
    worth = pl.when(away).then(0.0).otherwise(pl.col("known").fill_null(middle))
    total = worth.sum()
    share = pl.when(total > 0).then(worth / total).otherwise(0.0)
    return known.select("object_id", value_share=share, value_assumed=pl.col("known").is_null() & ~away)
