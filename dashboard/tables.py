"""A frame as it is shown and downloaded: headings in words, classes with their shapes; CSV that no spreadsheet runs."""

from collections.abc import Mapping, Sequence

import polars as pl

from collection.store.package import guarded
from dashboard import theme
from dashboard.headings import HEADINGS
from schemas.vocabularies import vocabulary

# What a label names, by the column of terms beside it.
LABELS: Mapping[str, str] = {"grade": "Grade", "kind": "Damage"}
SHARES = (
    "inside",
    "below",
    "above",
    "swing",
    "of_loss",
    "share_damaged",
    "share_of_seen",
    "contribution",
    "rate_left",
    "loss_without",
    "loss_with",
    "in_draws",
)
READ_PERCENT = "_percent"  # ends the name of a column that is in per cent already
PERCENT = 100  # in a whole
OF_COLLECTION = (
    "prevented", "repairs", "journeys", "climate", "not_checked", "expected_loss", "collection_loss",
    "loss_in_former_air",
)  # fmt: skip
HIDDEN = ("attention", "kind", "grade", "location_id", "sha256", "mark", "version")


def shown(frame: pl.DataFrame, **headings: str) -> pl.DataFrame:
    """The frame as a person sees it; `headings` go before those every page shares."""
    columns = [n for n in frame.columns if n not in HIDDEN]
    named = _with_shapes(frame) if {"attention", "label"} <= set(frame.columns) else frame
    return named.select(_value(n).alias(headings.get(n) or heading(n, frame.columns)) for n in columns)


def _value(name: str) -> pl.Expr:
    """A column as shown: what is of the collection's value in per cent, two figures."""
    if name.endswith(READ_PERCENT):
        return pl.col(name).round_sig_figs(2)
    return (pl.col(name) * PERCENT).round_sig_figs(2) if name in OF_COLLECTION else pl.col(name)


def heading(name: str, frame_columns: Sequence[str] = ()) -> str:
    """What stands above a column; `beside` are the columns of its frame."""
    if name == "label" and (named := [words for column, words in LABELS.items() if column in frame_columns]):
        return named[0]
    return HEADINGS.get(name) or name.replace("_", " ").capitalize()


def csv(frame: pl.DataFrame) -> bytes:
    """The shown frame as UTF-8 CSV, with the mark that spreadsheets need for accents.

    Text that a spreadsheet would run gets one more `'` in front.
    """
    guarded_names = {n: n if not n.startswith(("=", "+", "-", "@", "'")) else f"'{n}" for n in frame.columns}
    texts = [n for n, t in frame.schema.items() if t == pl.String]
    return (
        frame.with_columns(guarded(pl.col(n)).alias(n) for n in texts)
        .rename(guarded_names)
        .write_csv(include_bom=True)
        .encode()
    )


def _with_shapes(frame: pl.DataFrame) -> pl.DataFrame:
    marked = {term: theme.marked(term) for term in vocabulary("attention").term}
    return frame.with_columns(label=pl.col("attention").replace_strict(marked, return_dtype=pl.String))
