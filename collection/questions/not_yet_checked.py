"""What nobody has checked yet, and what is expected there."""

import polars as pl

from collection.frames import returns
from collection.questions.triage import Triage
from collection.questions.words import percent
from schemas.vocabularies import vocabulary

NOT_CHECKED = pl.Schema(
    {n: pl.String() for n in ("object_id", "title", "attention", "label", "place", "location_id", "because", "risk")}
    | {"expected_loss": pl.Float64()}
)


@returns(NOT_CHECKED)
def not_checked(triage: Triage, chosen: pl.DataFrame) -> pl.DataFrame:
    """Objects never checked in person, by what may be lost there, largest first; schema NOT_CHECKED.

    expected_loss [share of the collection's value a year]: what a remark already names and what is expected of its
    kind together. `because` is what a remark says, else the kind it is judged by.
    """
    objects = triage.collection["object"].select("object_id", "title", remark="condition_remark")
    places = triage.collection["location"].select("location_id", place=pl.coalesce("name", "location_id"))
    rows = never_checked(chosen).join(objects, on="object_id", how="left", maintain_order="left")
    lost = (pl.col("annual_loss") + pl.col("unchecked_loss").fill_null(0.0)) * pl.col("value_share")
    worded = rows.join(places, on="location_id", how="left", maintain_order="left").with_columns(
        expected_loss=lost,
        because=pl.coalesce(pl.format("remark: {}", "remark"), pl.lit("judged by its kind")),
        label=pl.col("attention").replace_strict(vocabulary("attention").labels(), return_dtype=pl.String),
        risk=pl.Series([_words(a + (u or 0)) for a, u in rows.select("annual_loss", "unchecked_loss").iter_rows()],
                       dtype=pl.String),
    )  # fmt: skip
    ordered = worded.sort("expected_loss", "object_id", descending=[True, False], nulls_last=True)
    return ordered.select(pl.col(n).cast(t) for n, t in NOT_CHECKED.items())


def never_checked(chosen: pl.DataFrame) -> pl.DataFrame:
    """The rows of objects never checked in person."""
    return chosen.filter(pl.col("last_checked_on").is_null())


def _words(loss: float | None) -> str:
    return f"{percent(loss)} of its value a year expected" if loss else "nothing expected, or not here"
