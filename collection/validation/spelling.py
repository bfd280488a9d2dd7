"""Two ways in which texts count as the same: words a person writes, and numbers of things."""

import re
import unicodedata
from functools import lru_cache

import polars as pl

REMEMBERED_WORDS = 100_000


@lru_cache(maxsize=REMEMBERED_WORDS)
def plain(text: str) -> str:
    """Words without case, accents, punctuation and camel humps: `ObjectNumber` and *object number* are one."""
    apart = re.sub(r"(?<=[a-zà-ÿ])(?=[A-Z])", " ", unicodedata.normalize("NFKC", text))
    bare = "".join(c for c in unicodedata.normalize("NFD", apart.casefold()) if not unicodedata.combining(c))
    return re.sub(r"[\W_]+", " ", bare).strip()


def normal(column: str, values: pl.Series | None = None) -> pl.Expr:
    """A number as compared: NFKC, trimmed, spaces collapsed, case folded. Letters of ASCII need no NFKC."""
    text = pl.col(column).cast(pl.String)
    if values is None or values.str.len_bytes().sum() != values.str.len_chars().sum():
        text = text.str.normalize("NFKC").str.replace_all("ß", "ss", literal=True)
    return text.str.strip_chars().str.replace_all(r"\s+", " ").str.to_lowercase()
