"""What nobody has looked at yet, and what may be lost there without anybody noticing."""

import polars as pl

from collection.frames import returns
from collection.questions.triage import Triage
from collection.questions.words import percent
from schemas.vocabularies import vocabulary

UNSEEN = pl.Schema(
    {n: pl.String() for n in ("object_id", "title", "attention", "label", "place", "location_id", "remark", "risk")}
    | {"unseen_worth_a_year": pl.Float64()}
)


@returns(UNSEEN)
def unseen(triage: Triage, chosen: pl.DataFrame) -> pl.DataFrame:
    """Objects never looked at in person, by what may be lost unseen, largest first; schema UNSEEN.

    unseen_worth_a_year [objects/year]: unseen_loss in objects of mean value, as in `storeroom.by_location`.
    """
    objects = triage.collection["object"].select("object_id", "title", remark="condition_remark")
    places = triage.collection["location"].select("location_id", place=pl.coalesce("name", "location_id"))
    rows = never_seen(chosen).join(objects, on="object_id", how="left", maintain_order="left")
    worth = triage.here * pl.col("value_share") * pl.col("unseen_loss")
    worded = rows.join(places, on="location_id", how="left", maintain_order="left").with_columns(
        unseen_worth_a_year=worth,
        label=pl.col("attention").replace_strict(vocabulary("attention").labels(), return_dtype=pl.String),
        risk=pl.Series([_words(x) for x in rows["unseen_loss"]], dtype=pl.String),
    )
    ordered = worded.sort("unseen_worth_a_year", "object_id", descending=[True, False], nulls_last=True)
    return ordered.select(pl.col(n).cast(t) for n, t in UNSEEN.items())


def never_seen(chosen: pl.DataFrame) -> pl.DataFrame:
    """The rows of objects never looked at in person."""
    return chosen.filter(pl.col("last_checked_on").is_null())


def unseen_sentence(rows: pl.DataFrame) -> str:
    """*240 objects were never looked at; about 0.02 objects' worth a year may be lost there unseen.*"""
    if rows.is_empty():
        return "Every object here has been looked at."
    are = "object was" if rows.height == 1 else "objects were"
    worth = float(rows["unseen_worth_a_year"].sum())
    return (
        f"{rows.height:,} {are} never looked at; judged by their kind, about {worth:.2g} objects' worth a year may be"
        " lost there unseen."
    )


def _words(loss: float | None) -> str:
    return f"{percent(loss)} of its value a year may go unnoticed" if loss else "nothing expected, or not here"
