"""Units beside numbers: the one table of `units.toml`, and a number with its unit as a person writes it."""

import re
import tomllib
from collections.abc import Mapping
from functools import cache
from pathlib import Path

# A number with thousands in groups of three: 1,250 or 12.500 or 1'250; and a plain number with one sign.
GROUPED = re.compile(r"[+-]?[1-9]\d{0,2}([,'’ ])\d{3}(\1\d{3})*(\.\d+)?")
GROUPED_BY_POINTS = re.compile(r"[+-]?[1-9]\d{0,2}(\.\d{3}){2,}(,\d+)?|[+-]?[1-9]\d{0,2}(\.\d{3})+,\d+")
PLAIN = re.compile(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)")
WITH_UNIT = re.compile(r"([+-]?[\d.,][\d.,'’ ]*)\s*([^\d\s.,].*)")


@cache
def unit_factors() -> Mapping[str, Mapping[str, float]]:
    """The register's own unit (mm, g, ...) to {unit as written, lower case: how many of the own unit}."""
    tables = tomllib.loads((Path(__file__).parent / "units.toml").read_text("utf-8"))
    return {t["to"]: {k: float(v) for k, v in t.items() if k != "to"} for t in tables.values()}


def factor_of(unit: str, symbol: str) -> float | None:
    """How many of the unit `symbol` one `unit`, as written, is; None where it is not known or of another kind."""
    factors, written = unit_factors().get(symbol, {}), " ".join(unit.lower().split())
    return factors.get(written, factors.get(written.replace(".", "")))


def number_text(text: str) -> str | None:
    """A number as a machine reads it; None where it is none. `1,250` is 1250, `12,5` is 12.5, `1.250,5` is 1250.5."""
    text = text.strip()
    if GROUPED.fullmatch(text):
        return re.sub(r"[,'’ ]", "", text)
    if GROUPED_BY_POINTS.fullmatch(text):
        return text.replace(".", "").replace(",", ".")
    return text.replace(",", ".") if PLAIN.fullmatch(text) else None


def number_and_unit(text: str) -> tuple[str, str] | None:
    """The number (as a machine reads it) and the unit of a cell such as `12,5 cm`; None where there are not both."""
    both = WITH_UNIT.fullmatch(text.strip())
    number = number_text(both[1]) if both else None
    return (number, both[2].strip()) if both and number else None
