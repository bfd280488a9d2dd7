"""What a house writes for a value, a number or letters of its own, as the mapping says."""

from collections.abc import Mapping

import polars as pl

from collection.validation.cell_values import BETWEEN


def in_words(text: pl.Expr, values: Mapping[str, str], several: bool) -> pl.Expr:
    """The value a cell stands for, whatever its case; a cell that the list does not name stays as it is.

    `several`: the column holds several values, and each is looked up by itself.
    """
    known = {_spelt(written): value for written, value in values.items()}
    if several:
        return text.str.split(BETWEEN).list.eval(_replaced(pl.element(), known)).list.join(BETWEEN)
    return _replaced(text, known)


def _replaced(text: pl.Expr, known: Mapping[str, str]) -> pl.Expr:
    return pl.coalesce(_spelling(text).replace_strict(known, default=None, return_dtype=pl.String), text)


def _spelling(text: pl.Expr) -> pl.Expr:
    return text.str.strip_chars().str.to_lowercase().str.replace_all(r"\s+", " ")


def _spelt(written: str) -> str:
    return " ".join(written.lower().split())
