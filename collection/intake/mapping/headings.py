"""Recognising what heads a column: the words of `headers.toml`, the column's own name, and a unit beside it."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache, lru_cache
from pathlib import Path
from typing import Any

import tomli

from collection.validation.conventions import unit_factors
from collection.validation.spelling import plain
from schemas.tables import RECORDS

UNIT_NEAR = re.compile(r"^(.*?)\s*(?:[\(\[]\s*(?:in\s+)?([^()\[\]]+?)\s*[\)\]]|,\s*in\s+(\S+))\s*$", re.IGNORECASE)
LONGEST_HEADING = 500  # letters: a longer cell is no heading
APART_AT_ONCE = 20_000  # headings kept taken apart: each is looked at for every record


@dataclass(frozen=True)
class Heading:
    """A heading taken apart: plain words, and the unit that stands beside them (empty: none)."""

    words: str
    unit: str


@cache
def listed() -> Mapping[str, Any]:
    """The words of `headers.toml` as they stand."""
    return tomli.loads((Path(__file__).parent / "headers.toml").read_text("utf-8"))


@cache
def signs(name: str) -> tuple[str, ...]:
    """Marks of one kind, in small letters: `ditto`, `several`."""
    return tuple(listed()["signs"][name])


@cache
def known_words() -> Mapping[str, Mapping[str, tuple[str, int]]]:
    """Record to {plain words: (column, preference)}; 0 is preferred."""
    known: dict[str, dict[str, tuple[str, int]]] = {}
    for name, spec in RECORDS.items():
        words = {plain(w): (c, rank) for c, ws in listed().get(name, {}).items() for rank, w in enumerate(ws, start=1)}
        own = {plain(c.name): (c.name, 1) for c in spec.columns if plain(c.name) not in words}
        known[name] = words | own
    return known


@lru_cache(APART_AT_ONCE)
def take_apart(heading: str) -> Heading:
    """Words and unit of a heading: `Height (cm)`, `height_mm`, `Breite in mm`."""
    text = heading.strip()[:LONGEST_HEADING]
    match = UNIT_NEAR.match(text)
    unit = (match[2] or match[3]).strip().lower() if match else ""
    if match and any(unit in factors for factors in unit_factors().values()):
        return Heading(plain(match[1]), unit)
    last = _unit_behind().match(text)
    if last:
        return Heading(plain(last[1]), last[2].lower())
    return Heading(plain(text), "")


@cache
def _unit_behind() -> re.Pattern[str]:
    """A unit as the last word of a heading: `height_mm`, `Breite in mm`, `Hauteur en cm`."""
    known = sorted((u for f in unit_factors().values() for u in f if len(u) > 1 and u.isalnum()), key=len, reverse=True)
    units = "|".join(map(re.escape, (*known, "g")))
    return re.compile(rf"^(.+?)[\s_]+(?:(?:in|en|i)[\s_]+)?({units})$", re.IGNORECASE)
