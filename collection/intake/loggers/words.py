"""The words of files that loggers write, read from `words.toml` once."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import tomli

from collection.validation.spelling import plain

TEMPERATURE, HUMIDITY, LIGHT, OTHER = "temperature", "humidity", "light", "other"
MEAN = "mean"
MOST_WORDS = 4
NAMING = ("logger", "place")
APART = re.compile(r"[\s,;:/|()\[\]_]+")
UNIT_OF_TWO = re.compile(r"(°|º|%|deg\.?|grad)\s+(c|f|rh|rf|hr|rv|ur|r\.h\.|r\.f\.)(?![a-z])", re.IGNORECASE)
LONGEST = 200  # letters: a longer cell is no heading


@dataclass(frozen=True)
class Heading:
    """What heads a column, taken apart: quantity or kind of column, unit, statistic, and the name that is left."""

    kind: str = ""  # a quantity, moment, date, clock, logger, place; empty: not known
    unit: str = ""
    statistic: str = ""
    name: str = ""
    zone: int | None = None  # minutes before UTC that the heading states


@cache
def listed() -> Mapping[str, Any]:
    """The words as they stand."""
    return tomli.loads((Path(__file__).parent / "words.toml").read_text("utf-8"))


@cache
def _phrases() -> Mapping[str, tuple[str, str]]:
    """Plain words to the part of a heading they say and its value."""
    w = listed()
    phrases = {p: ("kind", kind) for kind, words in {**w["quantity"], **w["time"]}.items() for p in words}
    phrases |= dict.fromkeys(w["logger"]["column"], ("kind", "logger"))
    phrases |= dict.fromkeys(w["logger"]["place"], ("kind", "place"))
    phrases |= {p: ("statistic", kind) for kind, words in w["statistic"].items() for p in words}
    return phrases | dict.fromkeys(w["no_name"]["words"], ("none", ""))


@cache
def months() -> Mapping[str, int]:
    """Names of months in every language to their number."""
    return {word: number for number, words in enumerate(listed()["month"].values(), start=1) for word in words}


def unit_of(text: str) -> tuple[str, str]:
    """Quantity and unit of a unit as written; empty where it is none."""
    quantity, unit = listed()["unit"].get(re.sub(r"\s+", "", text.lower()).strip("()[]"), ("", ""))
    return quantity, unit


ZONE = re.compile(r"(?:\b(?:UTC|GMT)\s*)?([+-])\s?(\d{1,2})(?::?(\d{2}))?(?!\d)", re.IGNORECASE)


def zone_minutes(text: str) -> int | None:
    """Minutes before UTC of `UTC+2`, `GMT+01:00`, `CET`; None where the text states none."""
    if match := ZONE.search(text.replace("\u2212", "-")):
        minutes = int(match[2]) * 60 + int(match[3] or 0)
        return -minutes if match[1] == "-" else minutes
    words = plain(text).split()
    return next((m for name, m in listed()["zone"]["minutes"].items() if name in words), None)


@cache
def heading(text: str) -> Heading:
    """A heading, of several rows joined by a space, taken apart; the longest words known are taken first."""
    text = UNIT_OF_TWO.sub(r"\1\2", text[:LONGEST].replace("_", " "))
    stated = zone_minutes(text) if re.search(r"(?i:\b(?:UTC|GMT)\b)|\b(?:CES?T|MES?Z|WES?T|EES?T)\b", text) else None
    text = re.sub(r"\b(?:UTC|GMT)\b\s*([+-]\s?\d{1,2}(:?\d{2})?)?", " ", text, flags=re.IGNORECASE)
    tokens = [
        t
        for t in APART.split(text.replace("#", " "))
        if t and t.strip(".-") and plain(t) not in listed()["zone"]["minutes"]
    ]
    parts: dict[str, str] = {}
    name: list[str] = []
    own = False
    at = 0
    while at < len(tokens):
        step = _take(tokens[at:], parts)
        names_kind = step == 1 and _phrases().get(plain(tokens[at]), ("", ""))[1] in NAMING
        name += [tokens[at]] if not step or names_kind else []
        own = own or not step
        at += step or 1
    named = " ".join(name) if own else ""
    return Heading(parts.get("kind", ""), parts.get("unit", ""), parts.get("statistic", ""), named, stated)


def bare_name(name: str) -> str:
    """`E1` of *Room E1*, `L-1` of *logger L-1*: a name without the word for what it names."""
    first, _, rest = name.partition(" ")
    return rest if rest and _phrases().get(plain(first), ("", ""))[1] in NAMING else name


def _take(tokens: Sequence[str], into: dict[str, str]) -> int:
    """Note what the first tokens say; returns how many of them said it."""
    quantity, unit = unit_of(tokens[0])
    if unit and (len(tokens[0]) > 1 or tokens[0] == "%" or into.get("kind") == quantity):
        into.setdefault("unit", unit)
        if _outranks(quantity, into.get("kind", "")):
            into["kind"] = quantity
        into.setdefault("kind", quantity)
        return 1
    words = next((n for n, t in enumerate(tokens) if not plain(t)), len(tokens))
    for length in range(min(MOST_WORDS, words), 0, -1):
        part, value = _phrases().get(plain(" ".join(tokens[:length])), ("", ""))
        if part:
            if part == "kind" and _outranks(value, into.get("kind", "")):
                into["kind"] = value
            into.setdefault(part, value)
            return length
    return 0


def _outranks(kind: str, earlier: str) -> bool:
    """*Dew point* is no temperature, and the temperature of a room is no place."""
    values = (TEMPERATURE, HUMIDITY, LIGHT)
    return (kind == OTHER and earlier in values) or (kind in values and earlier in ("logger", "place", "moment"))
