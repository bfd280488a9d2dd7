"""Usual cautions for people and objects, from `cautions.toml`: told where a danger or a damage asks for them."""

import tomllib
from collections.abc import Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Any

import polars as pl

from schemas.vocabularies import STATUS_WORDS, vocabulary

CAUTIONS = pl.Schema({n: pl.String() for n in ("caution", "keep_away", "because", "ask", "how_sure", "source")})


def defer() -> str:
    """Who decides: never this register."""
    return str(_file()["defer"])


def told(kinds: Mapping[str, Sequence[str]]) -> pl.DataFrame:
    """Cautions for an object whose `kinds` (vocabulary to terms) are these; its own first, then what holds of all."""
    own = [c for c in _file()["caution"] if _fits(c, kinds)]
    every = [c for c in _file()["caution"] if not any(name in c for name in kinds)]
    rows = [
        (c["title"], c["keep"], c["because"], c["who"], STATUS_WORDS[c["status"]], c["source"]) for c in (*own, *every)
    ]
    return pl.DataFrame(rows, schema=CAUTIONS, orient="row")


def _fits(caution: Mapping[str, Any], kinds: Mapping[str, Sequence[str]]) -> bool:
    """A term of the object is named, or has a property that is named."""
    return any(
        asked == term or bool(vocabulary(name).term[term].get(asked))
        for name, terms in kinds.items()
        for term in terms
        for asked in caution.get(name, ())
    )


@cache
def _file() -> Mapping[str, Any]:
    return tomllib.loads(Path(__file__).with_name("cautions.toml").read_text("utf-8"))
