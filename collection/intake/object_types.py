"""What sort of thing an object is, by the words that `object_type.toml` lists for each term."""

from collections.abc import Mapping
from functools import cache

import polars as pl

from schemas.vocabularies import vocabulary

# The text that names the thing most plainly is asked first.
ASKED = ("object_type_text", "title", "classification_text")


def read_object_types(texts: pl.DataFrame) -> pl.Series:
    """A term of vocabulary object_type for each row, or null; the first word in the plainest text decides."""
    answers = [_terms_in(pl.col(c)) for c in ASKED if c in texts.columns]
    if not answers:
        return pl.Series("object_type", [None] * texts.height, dtype=pl.String)
    return texts.select(pl.coalesce(answers).alias("object_type"))["object_type"]


def _terms_in(text: pl.Expr) -> pl.Expr:
    found = text.str.to_lowercase().str.extract(_pattern(), 1)
    return found.replace_strict(_terms(), default=None, return_dtype=pl.String)


@cache
def _terms() -> Mapping[str, str]:
    return {w: key for key, entry in vocabulary("object_type").term.items() for w in entry.get("words", ())}


@cache
def _pattern() -> str:
    """Longer words first; a plural in s, es, n, en or e is the same word."""
    words = sorted(_terms(), key=len, reverse=True)
    return rf"(?:^|[^\p{{L}}])({'|'.join(words)})(?:s|es|x|n|en|e|ar|er|or)?(?:$|[^\p{{L}}])"
