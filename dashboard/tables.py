"""A frame as it is shown and downloaded: headings in words, classes with their shapes; CSV that no spreadsheet runs."""

from collections.abc import Mapping, Sequence

import polars as pl

from collection.store.package import guarded
from dashboard import theme
from dashboard.headings import HEADINGS
from schemas.vocabularies import vocabulary

# What a label names, by the column of terms beside it.
LABELS: Mapping[str, str] = {"attention": "Attention", "grade": "Grade", "kind": "Damage"}
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
    "chance",
)
NEARLY_ALL = 99.9  # %, of what is less than a whole and would round to it
READ_PERCENT = "_percent"  # ends the name of a column that is in per cent already
PERCENT = 100  # in a whole
OF_COLLECTION = (
    "prevented", "repairs", "damage", "journeys", "climate", "not_checked", "expected_loss", "collection_loss",
    "loss_in_former_air",
)  # fmt: skip
HIDDEN = ("location_id", "sha256", "mark", "version")
TERMS = ("attention", "kind", "grade")  # hidden where a label in words stands beside them
MANY, FIGURES = 1000, 3  # a column with so much in it is written out, its smaller values in so many figures


def shown(frame: pl.DataFrame, **headings: str) -> pl.DataFrame:
    """The frame as a person sees it; `headings` go before those every page shares."""
    hidden = (*HIDDEN, *TERMS) if "label" in frame.columns else HIDDEN
    named = _with_shapes(frame) if {"attention", "label"} <= set(frame.columns) else frame
    return named.select(
        _value(named, n).alias(headings.get(n) or heading(n, frame.columns)) for n in frame.columns if n not in hidden
    )


def _value(frame: pl.DataFrame, name: str) -> pl.Expr:
    """A column as shown: shares in per cent, two figures; of a column with thousands no decimals of no use."""
    value = pl.col(name)
    if frame.schema[name] != pl.Float64:
        return value
    if name in SHARES:
        percent = (value * PERCENT).round_sig_figs(2)
        return pl.when(value < 1).then(percent.clip(upper_bound=NEARLY_ALL)).otherwise(percent)
    if name.endswith(READ_PERCENT):
        return value.round_sig_figs(2)
    if name in OF_COLLECTION:
        return (value * PERCENT).round_sig_figs(2)
    if frame.select((value.abs() >= MANY).any()).item():
        return pl.when(value.abs() < PERCENT).then(value.round_sig_figs(FIGURES)).otherwise(value.round())
    return value


def heading(name: str, frame_columns: Sequence[str] = ()) -> str:
    """What stands above a column; `frame_columns` are the columns of its frame."""
    if name == "label":
        named = [words for column, words in LABELS.items() if column in frame_columns]
        return named[0] if named else HEADINGS["what"]
    return HEADINGS.get(name) or name.replace("_", " ").capitalize()


def widths(frame: pl.DataFrame, **headings: str) -> dict[str, int]:
    """How wide the columns of `frame` are that have a width of their own, by what stands above them [px]."""
    return {
        headings.get(name) or heading(name, frame.columns): pixels
        for name, pixels in theme.COLUMNS.items()
        if name in frame.columns
    }


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
