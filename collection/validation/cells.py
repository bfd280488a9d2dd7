"""Cells as typed into the types of a record's columns: fast expressions for all rows, care for the few they refuse.

The expressions are stricter than pydantic and never laxer: what only they refuse, `cell_words` settles afterwards.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import annotated_types as at
import polars as pl

from collection.intake.files.sheet import ROW, SHOWN_OF_A_CELL
from collection.intake.mapping.headings import unit_factors
from collection.intake.mapping.mapping import UNSAID, ColumnMap
from collection.validation.cell_values import BETWEEN, judge_cell
from collection.validation.problems import found, nothing
from schemas.errors import VocabularyError
from schemas.fields import FromVocabulary, Partial, Unit
from schemas.tables import Column, OneOf, TableSpec
from schemas.vocabularies import vocabulary

# What pydantic keeps in one object: name of the setting to what it asks of a value.
SETTINGS: Mapping[str, Callable[[pl.Expr, Any], pl.Expr]] = {
    "pattern": lambda value, wanted: value.str.contains(wanted),
    "allow_inf_nan": lambda value, wanted: pl.lit(value=True) if wanted else value.cast(pl.Float64).is_finite(),
    "max_digits": lambda value, _: value.is_not_null(),  # the type holds no more
    "decimal_places": lambda value, _: value.is_not_null(),  # the parser takes no more
}


def within(column: Column) -> pl.Expr:
    """The column's value where it keeps every constraint, else null."""
    value = pl.col(column.name)
    held = [holds(constraint, value) for constraint in column.constraints]
    return pl.when(held).then(value) if held else value


def holds(constraint: object, value: pl.Expr) -> pl.Expr:
    """True where the value keeps the constraint. Raises VocabularyError for one that has no expression."""
    match constraint:
        case at.Ge(ge=limit):
            return value >= pl.lit(limit)
        case at.Gt(gt=limit):
            return value > pl.lit(limit)
        case at.Le(le=limit):
            return value <= pl.lit(limit)
        case at.Lt(lt=limit):
            return value < pl.lit(limit)
        case at.MinLen(min_length=least):
            return value.str.len_bytes() >= least if least <= 1 else value.str.len_chars() >= least
        case at.MaxLen(max_length=most):
            return (value.str.len_bytes() <= most) | (value.str.len_chars() <= most)
        case OneOf(words=words):
            return value.is_in(list(words))
        case _:
            return _settings(constraint, value)


def _settings(constraint: object, value: pl.Expr) -> pl.Expr:
    stated = {k: v for k, v in vars(constraint).items() if v is not None} if hasattr(constraint, "__dict__") else {}
    if not stated or set(stated) - set(SETTINGS):
        what = f"constraint {constraint!r} has no expression"
        raise VocabularyError("schemas.records", what, "", "Add it to collection/intake/constraints.py.")
    return pl.all_horizontal([SETTINGS[k](value, v) for k, v in stated.items()])


TRUE_WORDS = ("1", "on", "t", "true", "y", "yes")  # as pydantic reads them
FALSE_WORDS = ("0", "off", "f", "false", "n", "no")
NEEDS_TRIM = r"^\s|\s$|^$"
MIDNIGHT = r"^(\d{4}-\d{2}-\d{2})[ T]00:00:00(\.0+)?$"  # how a workbook's date arrives as text
DAY = r"^\d{4}-\d{2}-\d{2}$"
MOMENT = r"^\d{4}-\d{2}-\d{2}[T ]\d{2}:\d{2}:\d{2}(\.\d{1,6})?$"
NO_YEAR = "0000"
DATE_ORDERS = {"dd": r"(?P<d>\d{1,2})", "mm": r"(?P<m>\d{1,2})", "yyyy": r"(?P<y>\d{4})"}
ODD_SIGNS = (["\u2212", "\u00a0", "\u202f", "\u2009"], ["-", "", "", ""])


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
    prepared = _prepared(_trimmed(cells, columns), columns, mapping)
    rows = prepared.select(ROW, *(_parsed(c, mapping).alias(c.name) for c in columns))
    rows = rows.select(ROW, *(within(c).alias(c.name) for c in columns))
    problems = [nothing()]
    for column in columns:
        rows, wrong = _settle(rows, prepared, spec, column)
        problems.append(wrong)
    for column in (c for c in columns if c.mark(Partial)):
        rows = with_days(rows, column.name)
        lost = rows.filter(pl.col(column.name).is_not_null() & pl.col(f"{column.name}_earliest").is_null())
        problems.append(found(lost, "impossible_date", column.name, value=pl.col(column.name)))
    return Typed(rows, pl.concat(problems))


def _trimmed(cells: pl.DataFrame, columns: list[Column]) -> pl.DataFrame:
    """Trim where some cell needs it; elsewhere the column is the same memory as was read."""
    asked = cells.select(pl.col(c.name).str.contains(NEEDS_TRIM).any().alias(c.name) for c in columns)
    needed = [name for name, needs in asked.row(0, named=True).items() if needs] if columns else []
    trimmed = cells.with_columns(pl.col(n).str.strip_chars() for n in needed)
    return trimmed.with_columns(pl.when(pl.col(n) != "").then(n).alias(n) for n in needed)


def _prepared(cells: pl.DataFrame, columns: list[Column], mapping: ColumnMap) -> pl.DataFrame:
    """Words for *unknown* emptied, numbers with a decimal point, dates in the order of the standard."""
    changed = []
    for column in columns:
        text = before = pl.col(column.name)
        if unknown := mapping.unknown.get(column.name):
            text = pl.when(~text.str.to_lowercase().is_in([w.lower() for w in unknown])).then(text)
        if _is_number(column):
            text = _number_text(text, cells[column.name], column, mapping)
        elif column.dtype.is_temporal() or column.mark(Partial) is not None:
            text = _date_text(text, mapping.units.get(column.name, UNSAID))
        if text is not before:
            changed.append(text.alias(column.name))
    return cells.with_columns(changed)


def _is_number(column: Column) -> bool:
    return column.dtype.is_numeric() or isinstance(column.dtype, pl.Decimal)


def _number_text(text: pl.Expr, cells: pl.Series, column: Column, mapping: ColumnMap) -> pl.Expr:
    if cells.str.len_bytes().sum() != cells.str.len_chars().sum():
        text = text.str.replace_many(*ODD_SIGNS)
    if column.name in mapping.decimal_comma:
        pointed = text.str.replace_all(".", "", literal=True).str.replace(",", ".", literal=True)
        text = pl.when(text.str.contains(",", literal=True)).then(pointed).otherwise(text)
    unit = column.mark(Unit)
    if unit and unit.symbol.startswith("year") and cells.str.contains(DAY).any():
        text = text.str.replace(r"^(\d{4})-\d{2}-\d{2}$", "$1")
    if _unit_unsaid(column, mapping):  # a unit nobody wrote is never guessed: bare numbers say nothing
        text = pl.when(text.cast(pl.Float64, strict=False).is_null()).then(text)
    return text


def _unit_unsaid(column: Column, mapping: ColumnMap) -> bool:
    unit = column.mark(Unit)
    return bool(unit and unit.symbol in unit_factors() and mapping.units.get(column.name) == UNSAID)


def _date_text(text: pl.Expr, order: str) -> pl.Expr:
    text = text.str.replace(MIDNIGHT, "$1")
    if not order:
        return text
    between = next((c for c in order if not c.isalpha()), "/")
    pattern = f"[{between}]".join(DATE_ORDERS[p] for p in order.split(between) if p in DATE_ORDERS)
    parts = text.str.extract_groups(f"^{pattern}$").struct
    iso = pl.format("{}-{}-{}", parts["y"], parts["m"].str.zfill(2), parts["d"].str.zfill(2))
    return pl.coalesce(iso, text)


def _parsed(column: Column, mapping: ColumnMap) -> pl.Expr:
    text, term = pl.col(column.name), column.mark(FromVocabulary)
    if term is not None and column.several:
        keys = list(vocabulary(term.vocabulary).term)
        return pl.when(text.str.split(BETWEEN).list.eval(pl.element().is_in(keys)).list.all()).then(
            text.str.split(BETWEEN)
        )
    if term is not None:
        return pl.when(text.is_in(list(vocabulary(term.vocabulary).term))).then(text)
    value = PARSERS[column.dtype.base_type()](text)
    unit = column.mark(Unit)
    factor = unit_factors().get(unit.symbol, {}).get(mapping.units.get(column.name, UNSAID), 1.0) if unit else 1.0
    return value if factor == 1.0 else value * factor


PARSERS: Mapping[Any, Callable[[pl.Expr], pl.Expr]] = {
    pl.String: lambda t: t,
    pl.Float64: lambda t: t.cast(pl.Float64, strict=False),
    pl.Int64: lambda t: t.cast(pl.Int64, strict=False),
    pl.Decimal: lambda t: pl.when(t.str.contains(r"^\d+(\.\d{1,2})?$")).then(t).cast(pl.Decimal(18, 2), strict=False),
    pl.Date: lambda t: (
        pl.when(t.str.contains(DAY), ~t.str.starts_with(NO_YEAR)).then(t).str.to_date("%Y-%m-%d", strict=False)
    ),
    pl.Datetime: lambda t: (
        pl.when(t.str.contains(MOMENT), ~t.str.starts_with(NO_YEAR))
        .then(t.str.replace("T", " "))
        .str.to_datetime("%Y-%m-%d %H:%M:%S%.f", time_unit="us", strict=False)
    ),
    pl.Boolean: lambda t: t.str.to_lowercase().replace_strict(
        dict.fromkeys(TRUE_WORDS, True) | dict.fromkeys(FALSE_WORDS, False), default=None, return_dtype=pl.Boolean
    ),
}


def _settle(
    rows: pl.DataFrame, prepared: pl.DataFrame, spec: TableSpec, column: Column
) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Judge each distinct text that the expressions refused: take its value, or say why not."""
    failed = rows[column.name].is_null() & prepared[column.name].is_not_null()
    if not failed.any():
        return rows, nothing()
    wrong = prepared.filter(failed).select(ROW, text=column.name)
    judged = {t: judge_cell(spec, column, t) for t in wrong["text"].unique().to_list()}
    good = {t: v.value for t, v in judged.items() if not v.rule}
    if good:
        taken = pl.DataFrame({"text": list(good), "taken": pl.Series(list(good.values()), dtype=column.dtype)})
        values = prepared.select(text=pl.when(failed).then(column.name)).join(
            taken, on="text", how="left", maintain_order="left"
        )
        rows = rows.with_columns(pl.coalesce(column.name, values["taken"]).alias(column.name))
    bad = [(t, v.rule, v.expected) for t, v in judged.items() if v.rule]
    reasons = pl.DataFrame(bad, schema={"text": pl.String, "rule": pl.String, "expected": pl.String}, orient="row")
    shown = pl.col("text").str.head(SHOWN_OF_A_CELL).alias("value")
    return rows, wrong.join(reasons, on="text").select(
        ROW, "rule", pl.lit(column.name).alias("column"), shown, "expected"
    )


def with_days(rows: pl.DataFrame, name: str) -> pl.DataFrame:
    """Add `NAME_earliest` and `NAME_latest` to a partial date; null where there is no such day."""
    distinct = rows.select(name).unique()
    known = pl.when(~pl.col(name).str.starts_with(NO_YEAR)).then(name)
    first = pl.coalesce(
        (known + pl.lit(ending)).str.to_date("%Y-%m-%d", strict=False) for ending in ("", "-01", "-01-01")
    )
    length = pl.col(name).str.len_chars()
    last = (
        pl.when(length == len("yyyy"))
        .then(first.dt.offset_by("1y").dt.offset_by("-1d"))
        .when(length == len("yyyy-mm"))
        .then(first.dt.month_end())
        .otherwise(first)
    )
    days = distinct.with_columns(first.alias(f"{name}_earliest"), last.alias(f"{name}_latest"))
    return rows.join(days, on=name, how="left", nulls_equal=True, maintain_order="left")
