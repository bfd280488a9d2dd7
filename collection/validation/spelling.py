"""Two ways in which texts count as the same: words a person writes, and numbers of things."""

import re
import unicodedata
from collections.abc import Mapping, Sequence
from functools import lru_cache

import polars as pl

REMEMBERED_WORDS = 100_000
MOST_LOOKED_UP, NEAR_ENOUGH = 20, 85  # unknown numbers; of 100, how alike


@lru_cache(maxsize=REMEMBERED_WORDS)
def plain(text: str) -> str:
    """Words without case, accents, punctuation and camel humps: `ObjectNumber` and *object number* are one."""
    apart = re.sub(r"(?<=[a-zà-ÿ])(?=[A-Z])", " ", unicodedata.normalize("NFKC", text))
    bare = "".join(c for c in unicodedata.normalize("NFD", apart.casefold()) if not unicodedata.combining(c))
    return re.sub(r"[\W_]+", " ", bare).strip()


def normal(column: str, values: pl.Series | None = None) -> pl.Expr:
    """A number as compared: NFKC, trimmed, spaces collapsed, case folded. Letters of ASCII need no NFKC.

    `values`: those of the column where they are at hand, so that nothing is done to them that they do not need.
    """
    text = pl.col(column).cast(pl.String)
    if values is None or values.str.len_bytes().sum() != values.str.len_chars().sum():
        text = text.str.normalize("NFKC").str.replace_all("ß", "ss", literal=True)
    elif not values.str.contains(r"\s").any():
        return text.str.to_lowercase()
    return text.str.strip_chars().str.replace_all(r"\s+", " ").str.to_lowercase()


def nearest(asked: Sequence[str], known: Mapping[str, str]) -> dict[str, str]:
    """The number most like each of the first few asked for, where one is like enough.

    `known`: numbers to the form they are compared in, sorted, so that of two equally like the first is taken.
    """
    from rapidfuzz import process  # few commands ask, and all would wait for it

    best_of = {text: process.extractOne(text, known, score_cutoff=NEAR_ENOUGH) for text in asked[:MOST_LOOKED_UP]}
    return {text: best[2] for text, best in best_of.items() if best}
