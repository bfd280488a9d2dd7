"""How one file or form writes its numbers and dates, and typed texts brought into the register's own way of writing."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from itertools import product
from pathlib import Path
from typing import Any

import polars as pl
import tomli

from schemas.fields import Partial, Unit
from schemas.tables import Column

# A number with thousands in groups of three: 1,250 or 12.500 or 1'250; and a plain number with one sign.
GROUPED_NUMBER = re.compile(r"[+-]?[1-9]\d{0,2}([,'’ ])\d{3}(\1\d{3})*(\.\d+)?")
GROUPED_BY_POINTS = re.compile(r"[+-]?[1-9]\d{0,2}(\.\d{3}){2,}(,\d+)?|[+-]?[1-9]\d{0,2}(\.\d{3})+,\d+")
PLAIN = re.compile(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)")
WITH_UNIT = re.compile(r"([+-]?[\d.,][\d.,'’ ]*)\s*([^\d\s.,].*)")


@cache
def _written() -> Mapping[str, Any]:
    return tomli.loads((Path(__file__).parent / "units.toml").read_text("utf-8"))


@cache
def unit_factors() -> Mapping[str, Mapping[str, float]]:
    """The register's own unit (mm, g, ...) to {unit as written, lower case: how many of the own unit}."""
    tables = [t for t in _written().values() if "to" in t]
    return {t["to"]: {k: float(v) for k, v in t.items() if k != "to"} for t in tables}


def factor_of(unit: str, symbol: str) -> float | None:
    """How many of the unit `symbol` one `unit`, as written, is; None where it is not known or of another kind."""
    factors, written = unit_factors().get(symbol, {}), " ".join(unit.lower().split())
    return factors.get(written, factors.get(written.replace(".", "")))


def units_named(symbol: str) -> str:
    """The units that a number of this unit may be written in, each by its first spelling: `mm, cm, dm, m, in, ft`."""
    first: dict[float, str] = {}
    for spelling, factor in unit_factors()[symbol].items():
        first.setdefault(factor, spelling)
    return ", ".join(first.values())


def number_text(text: str) -> str | None:
    """A number as a machine reads it; None where it is none. `1,250` is 1250, `12,5` is 12.5, `1.250,5` is 1250.5."""
    text = text.strip()
    if GROUPED_NUMBER.fullmatch(text):
        return re.sub(r"[,'’ ]", "", text)
    if GROUPED_BY_POINTS.fullmatch(text):
        return text.replace(".", "").replace(",", ".")
    return text.replace(",", ".") if PLAIN.fullmatch(text) else None


def number_and_unit(text: str) -> tuple[str, str] | None:
    """The number (as a machine reads it) and the unit of a cell such as `12,5 cm`; None where there are not both."""
    both = WITH_UNIT.fullmatch(text.strip())
    number = number_text(both[1]) if both else None
    return (number, both[2].strip()) if both and number else None


NOT_STATED = ""  # the unit of a column is known not to be stated: bare numbers say nothing
ZERO_HOUR = "00:00:00"
MIDNIGHT = rf"^(\d{{4}}-\d{{2}}-\d{{2}})[ T]{ZERO_HOUR}(\.0+)?$"  # how a workbook's date arrives as text
DAY = r"^\d{4}-\d{2}-\d{2}$"
ORDER_PARTS: Mapping[str, str] = {"day": r"(?P<d>\d{1,2})", "month": r"(?P<m>\d{1,2})", "year": r"(?P<y>\d{4})"}
ODD_SIGNS = (["\u2212", "\u00a0", "\u202f", "\u2009"], ["-", "", "", ""])
POINTS_FOR_THOUSANDS = r"^[+-]?\d{1,3}(\.\d{3})+(,\d+)?(\s*[^\d.,].*)?$"  # 1.250 and 1.250,5 where a comma is decimal
VULGAR = {
    "½": " 1/2",
    "¼": " 1/4",
    "¾": " 3/4",
    "⅓": " 1/3",
    "⅔": " 2/3",
    "⅛": " 1/8",
    "⅜": " 3/8",
    "⅝": " 5/8",
    "⅞": " 7/8",
}
HAS_FRACTION = r"\d/\d|[½¼¾⅓⅔⅛⅜⅝⅞]"
FRACTION = r"^(?:(\d+)[ -])?\s*(\d{1,3})/(\d{1,3})(\s*[^\d\s/.,].*)?$"
GROUPED = r"^[+-]?[1-9]\d{0,2}([,'’ ]\d{3})+(\.\d+)?$"  # 1,250 is 1250 where nothing says that a comma is decimal
COMMA_FOR_DECIMALS = r"^[+-]?\d*,\d+(\s*[^\d.,].*)?$"


# POSIX.1-2017, strptime, %y: 69 to 99 are 1969 to 1999, 00 to 68 are 2000 to 2068.
FIRST_OF_1900S, OF_2000S, OF_1900S = 69, 2000, 1900
CLOCK = r"(?:[ T]+(?P<t>\d{1,2}:\d{2}(?::\d{2})?))?"


@dataclass(frozen=True)
class DateOrder:
    """In which order day, month and year stand, and the sign between them: `day.month.year`; whether the year has two
    digits, and whether a time may follow."""

    parts: tuple[str, str, str]
    sign: str
    short_year: bool = False
    with_time: bool = False

    @property
    def pattern(self) -> str:
        """A regular expression with groups d, m and y, and t for the time."""
        parts = {**ORDER_PARTS, "year": r"(?P<y>\d{2})"} if self.short_year else ORDER_PARTS
        day = f"[{self.sign}]".join(parts[part] for part in self.parts)
        return f"^{day}{CLOCK if self.with_time else ''}$"


def full_year(short: int) -> int:
    """The year that two digits stand for."""
    return short + (OF_1900S if short >= FIRST_OF_1900S else OF_2000S)


EXPECTED_ORDER = (
    "day, month and year with one sign between them, such as dd.mm.yyyy, mm/dd/yy or yyyy-mm-dd, and hh:mm behind it"
    " where a time follows"
)
_PARTS = re.compile(r"([^\W\d_]+)\s*([-./ ])\s*([^\W\d_]+)\s*\2\s*([^\W\d_]+)")
_TIME = re.compile(r"[ t]+[^\W\d_]{1,2}:mm(:ss)?$")


def parse_order(written: str) -> DateOrder:
    """The order written. Raises ValueError where it is none, or names a part twice."""
    whole = written.strip().lower()
    day = _TIME.sub("", whole)
    match = _PARTS.fullmatch(day)
    letters = [match[n] for n in (1, 3, 4)] if match else []
    meant = [_parts_of(each) for each in letters]
    fitting = [its for its in product(*meant) if {part for part, _ in its} == {"day", "month", "year"}]
    if match is None or len(fitting) != 1:
        raise ValueError(f"'{written}' is no order of day, month and year")
    (first, second, third), short = zip(*fitting[0], strict=True)
    return DateOrder((first, second, third), match[2], any(short), day != whole)


def _parts_of(letters: str) -> list[tuple[str, bool]]:
    """What letters may stand for, and whether it is a year of two digits: `jj` is a day or such a year."""
    meant = [(part, False) for part, spellings in _written()["date_order"].items() if letters in spellings]
    return meant + ([("year", True)] if letters in _written()["short_year"]["year"] else [])


@dataclass(frozen=True)
class Conventions:
    """By column: the unit of bare numbers, the order of dates, words for *unknown*, a comma as decimal sign."""

    units: Mapping[str, str] = field(default_factory=dict)
    orders: Mapping[str, DateOrder] = field(default_factory=dict)
    unknown: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    decimal_comma: tuple[str, ...] = ()

    def factor(self, column: Column) -> float:
        """By what a bare number of the column is multiplied. Raises ValueError for a unit that is not known."""
        unit, written = column.mark(Unit), self.units.get(column.name, NOT_STATED)
        if unit is None or not written:
            return 1.0
        factor = factor_of(written, unit.symbol)
        if factor is None:
            raise ValueError(f"'{written}' is no unit that {column.name} can have")
        return factor

    def unit_unstated(self, column: Column) -> bool:
        """Nobody wrote the unit of this column: its bare numbers are left out, never guessed."""
        unit = column.mark(Unit)
        return bool(unit and unit.symbol in unit_factors() and self.units.get(column.name) == NOT_STATED)


def is_number(column: Column) -> bool:
    """The column holds numbers."""
    return column.dtype.is_numeric() or isinstance(column.dtype, pl.Decimal)


def is_date(column: Column) -> bool:
    """The column holds days, moments, or dates known in part."""
    return column.dtype.is_temporal() or column.mark(Partial) is not None


def prepared(
    cells: pl.DataFrame, columns: list[Column], conventions: Conventions, odd: Mapping[str, pl.Series]
) -> pl.DataFrame:
    """Words for *unknown* emptied, numbers with a decimal point, dates in the order of the standard.

    `cells`: trimmed. `odd`: texts of each column; signs that none of them has no cell of the column has.
    """
    changed = []
    for column in columns:
        text = before = pl.col(column.name)
        if unknown := conventions.unknown.get(column.name):
            text = pl.when(~text.str.to_lowercase().is_in([w.lower() for w in unknown])).then(text)
        if is_number(column):
            text = _number(text, odd[column.name].str.strip_chars(), column, conventions)
        elif is_date(column):
            text = _date(text, odd[column.name], conventions.orders.get(column.name), column)
        if text is not before:
            changed.append(text.alias(column.name))
    return cells.with_columns(changed)


def _number(text: pl.Expr, odd: pl.Series, column: Column, conventions: Conventions) -> pl.Expr:
    if odd.str.len_bytes().sum() != odd.str.len_chars().sum():
        text = text.str.replace_many(*ODD_SIGNS)
    if column.dtype.is_float() and odd.str.contains(HAS_FRACTION).any():
        text = _without_fractions(text)
    if column.name in conventions.decimal_comma:
        pointed = text.str.replace_all(".", "", literal=True).str.replace(",", ".", literal=True)
        comma = text.str.contains(POINTS_FOR_THOUSANDS) | text.str.contains(COMMA_FOR_DECIMALS)
        text = pl.when(comma).then(pointed).otherwise(text)
    if odd.str.contains("[,'’ ]").any():
        grouped = text.str.replace_all("[,'’ ]", "")
        decimal = pl.when(text.str.contains(r"^[+-]?\d*,\d+$")).then(text.str.replace(",", ".", literal=True))
        text = pl.when(text.str.contains(GROUPED)).then(grouped).otherwise(pl.coalesce(decimal, text))
    unit = column.mark(Unit)
    if unit and unit.symbol.startswith("year") and odd.str.contains(DAY).any():
        text = text.str.replace(r"^(\d{4})-\d{2}-\d{2}$", "$1")
    if conventions.unit_unstated(column):
        text = pl.when(text.cast(pl.Float64, strict=False).is_null()).then(text)
    return text


def _without_fractions(text: pl.Expr) -> pl.Expr:
    """`5 1/2 in` and `5½ in` as `5.5 in`; what is no whole number and a part of one stays as it is."""
    spelt = text.str.replace_many(list(VULGAR), list(VULGAR.values())).str.strip_chars()
    parts = spelt.str.extract_groups(FRACTION).struct
    whole, top, bottom = (parts.field(n).cast(pl.Float64, strict=False) for n in "123")
    value = whole.fill_null(0) + top / bottom
    return pl.when(top < bottom).then(pl.concat_str(value, parts.field("4").fill_null(""))).otherwise(text)


def _date(text: pl.Expr, odd: pl.Series, order: DateOrder | None, column: Column) -> pl.Expr:
    """As the standard writes it; a time stays where the column is of moments."""
    if odd.str.contains(ZERO_HOUR, literal=True).any():
        text = text.str.replace(MIDNIGHT, "$1")
    if order is None:
        return text
    parts = text.str.extract_groups(order.pattern).struct
    short = parts["y"].cast(pl.Int64)
    whole = short + pl.when(short >= FIRST_OF_1900S).then(OF_1900S).otherwise(OF_2000S)
    year = whole.cast(pl.String) if order.short_year else parts["y"]
    iso = pl.format("{}-{}-{}", year, parts["m"].str.zfill(2), parts["d"].str.zfill(2))
    if order.with_time and column.dtype.is_temporal() and column.dtype != pl.Date:
        iso = pl.coalesce(pl.format("{}T{}", iso, parts["t"].str.replace(r"^(\d:)", "0$1")), iso)
    return pl.coalesce(iso, text)
