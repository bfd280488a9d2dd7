"""Numbers, fractions and units in a size text, in millimetres. Knows no language: units come as tokens."""

import re
from collections.abc import Mapping
from dataclasses import dataclass

# Exact by definition: BIPM, The International System of Units (metre and its parts); the inch is 25.4 mm by the
# international yard and pound agreement of 1959, the foot 12 inches.
MM_PER: Mapping[str, float] = {"mm": 1.0, "cm": 10.0, "dm": 100.0, "m": 1000.0, "inch": 25.4, "ft": 304.8}
METRIC = frozenset({"mm", "cm", "dm", "m"})
NUMBER = re.compile(
    r"(?<![\w.,/])(?:(?P<whole>\d{1,4})[ -]+)?(?P<upper>\d{1,3})\s?/\s?(?P<lower>\d{1,3})(?![\d/])"
    r"|(?<![\w/])(?P<digits>\d{1,3}(?:[.,' ]\d{3})+(?![\d.,])|\d+[.,]\d+|\d+|(?<!\d)[.,]\d+)(?!\d)",
    re.ASCII,
)
_THOUSANDS = re.compile(r"[1-9]\d{0,2}([.,' ]\d{3})+")


@dataclass(frozen=True, slots=True)
class Amount:
    """A number at its place in the text; `fine` when written with decimals or a fraction of an eighth or finer."""

    value: float
    start: int
    end: int
    fine: bool


def amounts(shown: str) -> list[Amount]:
    """Every number of the text: 11.4, 8,5, 4 1/2, 1/2, 1,250."""
    return [made for m in NUMBER.finditer(shown) if (made := _amount(m)) is not None]


def _amount(match: re.Match[str]) -> Amount | None:
    if match["digits"]:
        text = match["digits"]
        thousands = bool(_THOUSANDS.fullmatch(text)) and "." not in text
        plain = re.sub(r"[.,' ]", "", text) if thousands else text.replace(",", ".")
        return Amount(float(plain), match.start(), match.end(), not thousands and "." in plain)
    if int(match["lower"]) == 0:
        return None
    value = int(match["whole"] or 0) + int(match["upper"]) / int(match["lower"])
    return Amount(value, match.start(), match.end(), int(match["lower"]) >= 8)


@dataclass(slots=True)
class Measure:
    """One measured number of a statement: its unit, its label, whether it stood in brackets."""

    value: float
    fine: bool
    bracket: bool
    chain: int  # numbers joined by a times sign share a chain
    start: int
    end: int
    unit: str | None = None
    label: str | None = None

    @property
    def mm(self) -> float | None:
        """Millimetres, or None without a unit."""
        factor = MM_PER.get(self.unit or "")
        return None if factor is None else self.value * factor


def better(first: Measure, second: Measure) -> Measure:
    """Of two statements of one length, the metric one, unless it is rounded and the other is not."""
    metric, other = (first, second) if first.unit in METRIC else (second, first)
    if metric.mm is None or other.mm is None:
        return metric if other.mm is None else other
    agree = abs(metric.mm - other.mm) <= 1.0
    return metric if agree or metric.fine or not other.fine or metric.unit == "mm" else other
