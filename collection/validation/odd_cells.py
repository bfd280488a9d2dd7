"""Texts that are not yet what their column holds: only these need care, and most files have few of them."""

from collections.abc import Mapping

import polars as pl

from collection.validation.conventions import is_number
from schemas.fields import FromVocabulary
from schemas.tables import Column
from schemas.vocabularies import vocabulary

NEEDS_TRIM = r"^\s|\s$|^$"


def odd_cells(cells: pl.DataFrame, columns: list[Column]) -> Mapping[str, pl.Series]:
    """By column, its texts without the numbers a machine reads and the terms of its vocabulary; of others all."""
    return {c.name: cells.select(_odd(c)).to_series() for c in columns}


def _odd(column: Column) -> pl.Expr:
    text, term = pl.col(column.name), column.mark(FromVocabulary)
    if is_number(column):
        own = column.dtype if column.dtype.is_integer() else pl.Float64
        return text.filter(text.is_not_null() & text.cast(own, strict=False).is_null())
    if term is not None:
        return text.filter(~text.is_in(list(vocabulary(term.vocabulary).term)))
    return text


def trimmed(cells: pl.DataFrame, odd: Mapping[str, pl.Series]) -> pl.DataFrame:
    """Trim where some cell needs it; elsewhere the column is the same memory as was read. `odd`: see `odd_cells`."""
    needed = [name for name, texts in odd.items() if texts.str.contains(NEEDS_TRIM).any()]
    spaced = cells.with_columns(pl.col(n).str.strip_chars() for n in needed)
    return spaced.with_columns(pl.when(pl.col(n) != "").then(n).alias(n) for n in needed)
