"""The loan a paper of an object is for, where nobody named one: that it is on, else the next."""

import polars as pl

from collection.frames import returns
from collection.risk.handling import loans_ahead
from collection.snapshot import Collection

CURRENT = pl.Schema({"object_id": pl.String(), "loan_id": pl.String()})


@returns(CURRENT)
def current_loans(collection: Collection) -> pl.LazyFrame:
    """Objects with a loan that has a venue not yet over, schema CURRENT: the one under way, else the next.

    What somebody promised goes before what is only asked for; what was refused or came back is none.
    """
    legs = collection["loan_leg"].lazy().filter(pl.col("ends_on").is_null() | (pl.col("ends_on") >= collection.day))
    ahead = legs.join(loans_ahead(collection), on="loan_id")
    days = ahead.group_by("loan_id").agg(pl.col("starts_on").min(), pl.col("confirmed").first())
    rows = collection["loan_object"].lazy().select("object_id", "loan_id").unique().join(days, on="loan_id")
    first = rows.sort(~pl.col("confirmed"), "starts_on", "loan_id", nulls_last=True)
    return first.unique("object_id", keep="first", maintain_order=True).select(CURRENT.names())
