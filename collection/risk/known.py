"""What is known of each object beside its hazards: where it is, who looked last, its worth, what nobody has seen."""

from datetime import date

import polars as pl

from collection.risk.looks import values
from collection.risk.rates import RatesTable
from collection.risk.unseen import unseen
from collection.snapshot import Collection

KNOWN = pl.Schema(
    {"object_id": pl.String, "location_id": pl.String, "look": pl.String, "last_checked_on": pl.Date}
    | {"value_share": pl.Float64, "value_assumed": pl.Boolean, "unseen_loss": pl.Float64}
)


def known(
    collection: Collection, looks: pl.DataFrame, hazards: pl.DataFrame, rates: RatesTable, as_of: date
) -> pl.DataFrame:
    """One row an object, schema KNOWN: what `object_risk()` reads beside the hazards."""
    expected = unseen(collection, looks, hazards, rates, as_of)
    objects = collection["object"].lazy().select("object_id", "location_id")
    for beside in (looks, values(collection, rates), expected):
        objects = objects.join(beside.lazy(), on="object_id", how="left")
    return objects.select(*KNOWN).collect()
