"""Recognising what heads a column: the words of `headers.toml`, the column's own name, and a unit beside it."""

import re
import tomllib
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from schemas.tables import RECORDS

HERE = Path(__file__).parent
UNIT_BESIDE = re.compile(r"^(.*?)\s*(?:[\(\[]\s*(?:in\s+)?([^()\[\]]+?)\s*[\)\]]|,\s*in\s+(\S+))\s*$", re.IGNORECASE)


@dataclass(frozen=True)
class Heading:
    """A heading taken apart: plain words, and the unit that stands beside them (empty: none)."""

    words: str
    unit: str


@cache
def unit_factors() -> Mapping[str, Mapping[str, float]]:
    """The register's own unit (mm, g, ...) to {unit as written, lower case: how many of the own unit}."""
    tables = tomllib.loads((HERE / "units.toml").read_text("utf-8"))
    return {t["to"]: {k: float(v) for k, v in t.items() if k != "to"} for t in tables.values()}


@cache
def known_words() -> Mapping[str, Mapping[str, tuple[str, int]]]:
    """Record to {plain words: (column, preference)}; 0 is preferred."""
    listed = tomllib.loads((HERE / "headers.toml").read_text("utf-8"))
    found: dict[str, dict[str, tuple[str, int]]] = {}
    for name, spec in RECORDS.items():
        words = {plain(w): (c, rank) for c, ws in listed.get(name, {}).items() for rank, w in enumerate(ws, start=1)}
        own = {plain(c.name): (c.name, 1) for c in spec.columns if plain(c.name) not in words}
        found[name] = words | own
    return found


def take_apart(heading: str) -> Heading:
    """Words and unit of a heading: `Height (cm)`, `height_mm`, `Breite in mm`."""
    text = heading.strip()
    beside = UNIT_BESIDE.match(text)
    unit = (beside[2] or beside[3]).strip().lower() if beside else ""
    if beside and any(unit in factors for factors in unit_factors().values()):
        return Heading(plain(beside[1]), unit)
    last = re.match(r"^(.+?)[\s_]+(?:(?:in|en|i)[\s_]+)?(mm|cm|in|inch|inches|mm2|cm2|g|kg)$", text, re.IGNORECASE)
    if last:
        return Heading(plain(last[1]), last[2].lower())
    return Heading(plain(text), "")


@cache
def plain(text: str) -> str:
    """Without case, accents, punctuation and camel humps."""
    apart = re.sub(r"(?<=[a-zà-ÿ])(?=[A-Z])", " ", unicodedata.normalize("NFKC", text))
    bare = "".join(c for c in unicodedata.normalize("NFD", apart.casefold()) if not unicodedata.combining(c))
    return re.sub(r"[\W_]+", " ", bare).strip()
