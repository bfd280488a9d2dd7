"""What is known of each object beside its hazards: where it is, who looked last, its worth, what nobody has seen."""

from datetime import date

import polars as pl

from collection.risk.groups import with_technique_key
from collection.risk.looks import with_value
from collection.risk.rates import RatesTable
from collection.risk.unseen import unseen_group, with_unseen
from collection.snapshot import Collection
from schemas.vocabularies import vocabulary

KNOWN = pl.Schema(
    {"object_id": pl.String, "location_id": pl.String, "look": pl.String, "last_checked_on": pl.Date}
    | {"value_share": pl.Float64, "value_assumed": pl.Boolean, "unseen_loss": pl.Float64}
)


def known(
    collection: Collection, looks: pl.DataFrame, hazards: pl.DataFrame, rates: RatesTable, as_of: date
) -> pl.DataFrame:
    """One row an object, schema KNOWN: what `object_risk()` reads beside the hazards."""
    record = with_technique_key(collection["object"])
    away = pl.col("status").is_in(vocabulary("object_status").having("away")).fill_null(False)
    objects = record.lazy().with_columns(away=away, group=unseen_group(record))
    seen = objects.join(looks.lazy(), on="object_id", how="left")
    worth = with_value(seen, collection, rates)
    return with_unseen(worth, collection, looks, hazards, rates, as_of).select(*KNOWN).collect(engine="in-memory")
