"""Cells as typed into the types of a record's columns: expressions for all rows, pydantic's words for the few that fail.

The expressions are stricter than pydantic and never laxer: what only they refuse, pydantic settles afterwards.
"""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from difflib import get_close_matches
from functools import cache
from typing import Annotated, Any

import annotated_types as at
import polars as pl
from pydantic import TypeAdapter, ValidationError
from pydantic.fields import FieldInfo

from collection.intake.headings import plain, unit_factors
from collection.intake.mapping import ColumnMap
from collection.intake.problems import found, nothing
from collection.intake.sheet import ROW, SHOWN_OF_A_CELL
from schemas.errors import VocabularyError
from schemas.fields import Partial, Term, Unit
from schemas.tables import Column, OneOf, TableSpec
from schemas.vocabularies import vocabulary

BETWEEN = ";"
TRUE_WORDS = ("1", "on", "t", "true", "y", "yes")  # as pydantic reads them
FALSE_WORDS = ("0", "off", "f", "false", "n", "no")
NUMBER = r"^[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?$"
WHOLE_NUMBER = r"^[+-]?\d+$"
WITH_UNIT = r"^\s*([+-]?[\d.,\s]*\d)\s*([^\d\s.,][^\d]*)?$"
MIDNIGHT = r"^(\d{4}-\d{2}-\d{2})[ T]00:00:00(\.0+)?$"  # how a workbook's date arrives as text
DAY = r"^\d{4}-\d{2}-\d{2}$"
MOMENT = r"^\d{4}-\d{2}-\d{2}[T ]\d{2}:\d{2}:\d{2}(\.\d{1,6})?$"
NO_YEAR = "0000"
DATE_ORDERS = {"dd": r"(?P<d>\d{1,2})", "mm": r"(?P<m>\d{1,2})", "yyyy": r"(?P<y>\d{4})"}


@dataclass(frozen=True)
class Typed:
    """`rows`: `source_row` and the typed columns a sheet has; `problems`: schema `FOUND`."""

    rows: pl.DataFrame
    problems: pl.DataFrame


def typed(cells: pl.DataFrame, spec: TableSpec, mapping: ColumnMap) -> Typed:
    """Type the columns that the mapping fills.

    Parameters
    ----------
    cells : `source_row` and one String column for each of the record's columns, under the column's name.
    """
    columns = [c for c in spec.columns if c.name in cells.columns]
    prepared = cells.select(ROW, *(_prepared(c, mapping).alias(c.name) for c in columns))
    rows = prepared.select(ROW, *(_parsed(c).alias(c.name) for c in columns))
    rows = rows.select(ROW, *(_within(c).alias(c.name) for c in columns))
    problems = []
    for column in columns:
        rows, wrong = _settle(rows, prepared, spec, column)
        problems.append(wrong)
    rows = _with_partials(rows, columns)
    problems += [
        found(rows.filter(pl.col(c.name).is_not_null() & pl.col(f"{c.name}_earliest").is_null()), "impossible_date", c.name,
              value=pl.col(c.name))
        for c in columns
        if c.mark(Partial)
    ]
    return Typed(rows, pl.concat([nothing(), *problems]))


def _prepared(column: Column, mapping: ColumnMap) -> pl.Expr:
    """Text trimmed, words for *unknown* emptied, numbers with a point and in the column's own unit."""
    text = pl.col(column.name).str.strip_chars()
    text = pl.when(text != "").then(text)
    if unknown := mapping.unknown.get(column.name):
        text = pl.when(~text.str.to_lowercase().is_in([w.lower() for w in unknown])).then(text)
    if column.dtype.is_numeric() or column.dtype.is_decimal():
        text = _number_text(text, column, mapping)
    elif column.dtype.is_temporal() or column.mark(Partial):
        text = _date_text(text, mapping.units.get(column.name, ""))
    return text


def _number_text(text: pl.Expr, column: Column, mapping: ColumnMap) -> pl.Expr:
    text = text.str.replace_many(["\u2212", "\u00a0", "\u202f", "\u2009"], ["-", "", "", ""])
    if column.name in mapping.decimal_comma:
        text = pl.when(text.str.contains(",", literal=True)).then(
            text.str.replace_all(".", "", literal=True).str.replace(",", ".", literal=True)
        ).otherwise(text)
    unit = column.mark(Unit)
    factors = unit_factors().get(unit.symbol) if unit else None
    if factors is None:
        return text.str.replace(r"^(\d{4})-\d{2}-\d{2}$", "$1") if unit and unit.symbol.startswith("year") else text
    return _in_own_unit(text, factors, mapping.units.get(column.name))


def _in_own_unit(text: pl.Expr, factors: Mapping[str, float], stated: str | None) -> pl.Expr:
    """A number with the unit beside it, or in the unit of the column; where none is stated at all, nothing."""
    number = text.str.extract(WITH_UNIT, 1).str.strip_chars()
    beside = text.str.extract(WITH_UNIT, 2).str.strip_chars().str.to_lowercase()
    own = factors.get(stated) if stated else None if stated == "" else 1.0
    factor = (
        pl.when(beside.is_null()).then(pl.lit(own, pl.Float64)).otherwise(beside.replace_strict(factors, default=None, return_dtype=pl.Float64))
    )
    scaled = number.cast(pl.Float64, strict=False) * factor
    plain_number = text.str.contains(NUMBER)
    if own == 1.0:
        return pl.when(plain_number | scaled.is_null()).then(text).otherwise(scaled.cast(pl.String))
    unstated = beside.is_null() & pl.lit(own is None)
    return pl.when(unstated & plain_number).then(None).when(scaled.is_null()).then(text).otherwise(scaled.cast(pl.String))


def _date_text(text: pl.Expr, order: str) -> pl.Expr:
    text = text.str.replace(MIDNIGHT, "$1")
    if not order:
        return text
    between = next((c for c in order if not c.isalpha()), "/")
    pattern = f"[{between}]".join(DATE_ORDERS[p] for p in order.split(between) if p in DATE_ORDERS)
    parts = text.str.extract_groups(f"^{pattern}$").struct
    iso = pl.format("{}-{}-{}", parts["y"], parts["m"].str.zfill(2), parts["d"].str.zfill(2))
    return pl.coalesce(iso, text)


def _within(column: Column) -> pl.Expr:
    """The value where it keeps every constraint of its declaration, else null."""
    value = pl.col(column.name)
    held = [_holds(constraint, value) for constraint in column.constraints]
    return pl.when(held).then(value) if held else value


def _parsed(column: Column) -> pl.Expr:
    text, dtype = pl.col(column.name), column.dtype
    term = column.mark(Term)
    if term is not None:
        words = term_words(term.vocabulary)
        if column.several:
            one = pl.element().str.strip_chars()
            return text.str.split(BETWEEN).list.eval(one.filter(one != "").pipe(_as_term, words)).pipe(_all_known)
        return _as_term(text, words)
    return PARSERS[dtype.base_type()](text)


def _as_term(text: pl.Expr, words: Mapping[str, str]) -> pl.Expr:
    lower = text.str.to_lowercase().str.replace_all(r"[\s_-]+", " ")
    return lower.replace_strict(words, default=None, return_dtype=pl.String)


def _all_known(terms: pl.Expr) -> pl.Expr:
    return pl.when(terms.list.len() > 0, terms.list.eval(pl.element().is_null()).list.any().not_()).then(terms)


def _as_number(text: pl.Expr) -> pl.Expr:
    return pl.when(text.str.contains(NUMBER)).then(text).cast(pl.Float64, strict=False)


PARSERS: Mapping[Any, Callable[[pl.Expr], pl.Expr]] = {
    pl.String: lambda t: t,
    pl.Float64: _as_number,
    pl.Int64: lambda t: pl.when(t.str.contains(WHOLE_NUMBER)).then(t).cast(pl.Int64, strict=False),
    pl.Decimal: lambda t: pl.when(t.str.contains(r"^\d+(\.\d{1,2})?$")).then(t).cast(pl.Decimal(18, 2), strict=False),
    pl.Date: lambda t: pl.when(t.str.contains(DAY), ~t.str.starts_with(NO_YEAR)).then(t).str.to_date("%Y-%m-%d", strict=False),
    pl.Datetime: lambda t: pl.when(t.str.contains(MOMENT), ~t.str.starts_with(NO_YEAR))
    .then(t.str.replace("T", " "))
    .str.to_datetime("%Y-%m-%d %H:%M:%S%.f", time_unit="us", strict=False),
    pl.Boolean: lambda t: t.str.to_lowercase().replace_strict(
        dict.fromkeys(TRUE_WORDS, True) | dict.fromkeys(FALSE_WORDS, False), default=None, return_dtype=pl.Boolean
    ),
}


def _holds(constraint: object, value: pl.Expr) -> pl.Expr:
    """The expression of one constraint of a declaration; an unknown one raises, it is never skipped."""
    match constraint:
        case at.Ge(ge=limit):
            return value >= limit
        case at.Gt(gt=limit):
            return value > limit
        case at.Le(le=limit):
            return value <= limit
        case at.Lt(lt=limit):
            return value < limit
        case at.MinLen(min_length=least):
            return value.str.len_chars() >= least
        case at.MaxLen(max_length=most):
            return value.str.len_chars() <= most
        case OneOf(words=words):
            return value.is_in(list(words))
        case _:
            return _holds_of_pydantic(constraint, value)


def _holds_of_pydantic(constraint: object, value: pl.Expr) -> pl.Expr:
    known = {k: v for k, v in vars(constraint).items() if v is not None} if hasattr(constraint, "__dict__") else {}
    held = [KNOWN_SETTINGS[k](value, v) for k, v in known.items() if k in KNOWN_SETTINGS]
    if not held or set(known) - set(KNOWN_SETTINGS):
        raise VocabularyError("schemas.records", f"constraint {constraint!r} has no expression", "", "Add it to cells.py.")
    return pl.all_horizontal(held)


KNOWN_SETTINGS: Mapping[str, Callable[[pl.Expr, Any], pl.Expr]] = {
    "pattern": lambda value, wanted: value.str.contains(wanted),
    "allow_inf_nan": lambda value, wanted: value.cast(pl.Float64).is_finite() if wanted is False else pl.lit(value=True),
    "max_digits": lambda value, _: value.is_not_null(),  # the type holds no more
    "decimal_places": lambda value, _: value.is_not_null(),  # the parser takes no more
}


@cache
def term_words(name: str) -> Mapping[str, str]:
    """What a person may write for each term, lower case: the term, its label, and further words it lists."""
    words: dict[str, str] = {}
    for key, entry in vocabulary(name).term.items():
        for word in (key, entry.label, *entry.get("words", ())):
            words.setdefault(" ".join(word.lower().replace("_", " ").replace("-", " ").split()), key)
    return words


def _settle(rows: pl.DataFrame, prepared: pl.DataFrame, spec: TableSpec, column: Column) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Let pydantic judge the cells that the expression refused: take its value, or its words."""
    failed = rows[column.name].is_null() & prepared[column.name].is_not_null()
    if not failed.any():
        return rows, nothing()
    wrong = prepared.filter(failed).select(ROW, text=column.name)
    judged = {t: _judge(spec, column, t) for t in wrong["text"].unique().to_list()}
    good = {t: v for t, (v, rule, _) in judged.items() if rule is None}
    bad = [(t, rule, expected) for t, (_, rule, expected) in judged.items() if rule is not None]
    if good:
        taken = prepared[column.name].replace_strict(good, default=None, return_dtype=column.dtype)
        rows = rows.with_columns(pl.coalesce(column.name, taken).alias(column.name))
    reasons = pl.DataFrame(bad, schema={"text": pl.String, "rule": pl.String, "expected": pl.String}, orient="row")
    listed = wrong.join(reasons, on="text").select(
        ROW, "rule", pl.lit(column.name).alias("column"), pl.col("text").str.head(SHOWN_OF_A_CELL).alias("value"), "expected"
    )
    return rows, listed


def _judge(spec: TableSpec, column: Column, text: str) -> tuple[Any, str | None, str | None]:
    """Pydantic's value, or the rule broken and what was expected."""
    if term := column.mark(Term):
        return None, "unknown_term", _near(text, term.vocabulary)
    if column.dtype.is_temporal() and not re.match(r"\d{4}-\d{2}-\d{2}", text):
        return None, "impossible_date", None  # pydantic would take a bare number for seconds since 1970
    try:
        value = _adapter(spec.name, column.name, spec.model.model_fields[column.name]).validate_python(text)
    except ValidationError as error:
        return None, _rule_of(column), _lower(error.errors()[0]["msg"])
    return _without_zone(value), None, None


def _without_zone(value: Any) -> Any:
    """Moments are kept in UTC without a zone mark."""
    zoned = isinstance(value, datetime) and value.tzinfo is not None
    return value.astimezone(UTC).replace(tzinfo=None) if zoned else value


@cache
def _adapters() -> dict[tuple[str, str], TypeAdapter[Any]]:
    return {}


def _adapter(record: str, name: str, info: FieldInfo) -> TypeAdapter[Any]:
    made = _adapters()
    if (record, name) not in made:
        noted: Any = info.annotation
        for note in info.metadata:
            noted = _annotated(noted, note)
        made[record, name] = TypeAdapter(noted)
    return made[record, name]


def _annotated(base: Any, note: object) -> Any:
    return Annotated[base, note]


def _rule_of(column: Column) -> str:
    if column.dtype.is_temporal() or column.mark(Partial):
        return "impossible_date"
    if column.dtype.is_numeric() or column.dtype.is_decimal():
        return "impossible_number"
    return "wrong_form"


def _near(text: str, name: str) -> str:
    words = term_words(name)
    close = get_close_matches(plain(text), list(words), n=1)
    if close:
        return f"a term of {name}; did you mean '{words[close[0]]}'?"
    return f"one of {', '.join(list(vocabulary(name).term)[:12])}" + (", ..." if len(vocabulary(name).term) > 12 else "")


def _lower(message: str) -> str:
    return message[:1].lower() + message[1:]


def _with_partials(rows: pl.DataFrame, columns: list[Column]) -> pl.DataFrame:
    """First and last day of each partial date."""
    days = [e for c in columns if c.mark(Partial) for e in first_and_last_day(c.name)]
    return rows.with_columns(days)


def first_and_last_day(name: str) -> list[pl.Expr]:
    """Expressions `NAME_earliest` and `NAME_latest` of a partial date; null where there is no such day."""
    text = pl.col(name)
    known = pl.when(~text.str.starts_with(NO_YEAR)).then(text)
    first = pl.coalesce(
        (known + pl.lit(ending)).str.to_date("%Y-%m-%d", strict=False) for ending in ("", "-01", "-01-01")
    )
    length = text.str.len_chars()
    last = (
        pl.when(length == len("yyyy")).then(first.dt.offset_by("1y").dt.offset_by("-1d"))
        .when(length == len("yyyy-mm")).then(first.dt.month_end())
        .otherwise(first)
    )
    return [first.alias(f"{name}_earliest"), last.alias(f"{name}_latest")]
