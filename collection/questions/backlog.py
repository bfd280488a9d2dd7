"""Work that waits: hours of open options by class of attention; an option without hours says so, it is not none."""

import polars as pl

from collection.questions.triage import Triage
from schemas.vocabularies import vocabulary

BACKLOG = pl.Schema(
    {
        "attention": pl.String(),
        "label": pl.String(),
        "objects": pl.UInt32(),
        "options": pl.UInt32(),
        "hours_low": pl.Float64(),
        "hours_likely": pl.Float64(),
        "hours_high": pl.Float64(),
        "no_hours": pl.UInt32(),
    }
)


def backlog(found: Triage, chosen: pl.DataFrame) -> pl.DataFrame:
    """Open options of the chosen objects by class, in the order of the classes; schema BACKLOG.

    hours [h] sum, for each object, the option with fewest likely hours: the options of one object are alternatives.
    `no_hours` counts objects none of whose open options has any.
    """
    waiting = list(vocabulary("option_status").having("backlog"))
    options = found.collection["option"].filter(
        pl.col("object_id").is_not_null(), pl.col("status").is_in(waiting) | pl.col("status").is_null()
    )
    one = (
        options.sort("hours_likely", "option_id", nulls_last=True)
        .group_by("object_id")
        .agg(pl.len().alias("options"), pl.col("hours_low", "hours_likely", "hours_high").first())
    )
    counted = (
        chosen.join(one, on="object_id")
        .group_by("attention")
        .agg(
            objects=pl.len(),
            options=pl.col("options").sum(),
            hours_low=pl.col("hours_low").sum(),
            hours_likely=pl.col("hours_likely").sum(),
            hours_high=pl.col("hours_high").sum(),
            no_hours=pl.col("hours_likely").is_null().sum(),
        )
    )
    terms = vocabulary("attention").labels()
    order = pl.DataFrame({"attention": list(terms), "label": list(terms.values())})
    joined = order.join(counted, on="attention", how="left", maintain_order="left").with_columns(
        pl.exclude("attention", "label").fill_null(0)
    )
    return joined.select(pl.col(n).cast(t) for n, t in BACKLOG.items())
