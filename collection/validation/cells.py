"""Cells as typed into the types of a record's columns: fast expressions for all rows, care for the few they refuse.

The expressions are stricter than pydantic and never laxer: what only they refuse, `cell_values` settles afterwards.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import annotated_types as at
import polars as pl

from collection.validation.cell_values import BETWEEN, judge_cell
from collection.validation.conventions import DAY, Conventions, is_number, prepared
from collection.validation.problems import ROW, UNWORDED, no_problems, problems_of
from schemas.errors import VocabularyError
from schemas.fields import FromVocabulary, Partial
from schemas.tables import Column, OneOf, TableSpec
from schemas.vocabularies import vocabulary

# What pydantic keeps in one object: name of the setting to what it asks of a value.
SETTINGS: Mapping[str, Callable[[pl.Expr, Any], pl.Expr]] = {
    "pattern": lambda value, wanted: value.str.contains(wanted),
    "allow_inf_nan": lambda value, wanted: pl.lit(value=True) if wanted else value.cast(pl.Float64).is_finite(),
    "max_digits": lambda value, _: value.is_not_null(),  # the type holds no more
    "decimal_places": lambda value, _: value.is_not_null(),  # the parser takes no more
}
NEEDS_TRIM = r"^\s|\s$|^$"


def within(column: Column) -> pl.Expr:
    """The column's value where it keeps every constraint, else null."""
    value = pl.col(column.name)
    if column.several:
        each = [value.list.eval(holds(constraint, pl.element())).list.all() for constraint in column.constraints]
        return pl.when(each).then(value) if each else value
    limits = [holds(constraint, value) for constraint in column.constraints]
    return pl.when(limits).then(value) if limits else value


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
        raise VocabularyError("schemas.records", what, "", "Add it to collection/validation/cells.py.")
    return pl.all_horizontal([SETTINGS[k](value, v) for k, v in stated.items()])


TRUE_WORDS = ("1", "on", "t", "true", "y", "yes")  # as pydantic reads them
FALSE_WORDS = ("0", "off", "f", "false", "n", "no")
MOMENT = r"^\d{4}-\d{2}-\d{2}[T ]\d{2}:\d{2}:\d{2}(\.\d{1,6})?$"
NO_YEAR = "0000"
SHOWN_OF_A_CELL = 200  # characters of a cell that a message repeats


@dataclass(frozen=True)
class Typed:
    """`rows`: `row` and the typed columns that were given; `problems`: schema `UNWORDED`."""

    rows: pl.DataFrame
    problems: pl.DataFrame


def typed(cells: pl.DataFrame, spec: TableSpec, conventions: Conventions | None = None) -> Typed:
    """Type the columns of a record that are given. What cannot be read is empty afterwards, and a problem.

    Parameters
    ----------
    cells : `row` and columns of the record, as text or typed already; other columns are left out.
    """
    conventions = conventions or Conventions()
    columns = [c for c in spec.columns if c.name in cells.columns]
    texts = _as_text(cells, columns)
    odd = odd_cells(texts, columns)
    texts = prepared(trimmed(texts, odd), columns, conventions, odd)
    rows = texts.select(ROW, *(_parsed(c, conventions).alias(c.name) for c in columns))
    rows = rows.select(ROW, *(within(c).alias(c.name) for c in columns))
    problems = [no_problems()]
    for column in columns:
        rows, wrong = _settle(rows, texts, spec, column)
        problems.append(wrong)
    for column in (c for c in columns if c.mark(Partial)):
        rows = with_days(rows, column.name)
        lost = rows.filter(pl.col(column.name).is_not_null() & pl.col(f"{column.name}_earliest").is_null())
        problems.append(problems_of(lost, "impossible_date", column.name, value=pl.col(column.name)))
        rows = rows.with_columns(pl.when(pl.col(f"{column.name}_earliest").is_not_null()).then(column.name))
    return Typed(rows, pl.concat(problems))


def _as_text(cells: pl.DataFrame, columns: list[Column]) -> pl.DataFrame:
    """Columns that a form gives in their types, as the text a person would have written."""
    texts = [_text(cells, c.name) for c in columns]
    return cells.select(ROW, *texts)


def _text(cells: pl.DataFrame, name: str) -> pl.Expr:
    dtype = cells.schema[name]
    if dtype == pl.String:
        return pl.col(name)
    if isinstance(dtype, pl.List):
        return pl.col(name).cast(pl.List(pl.String)).list.join(BETWEEN)
    return pl.col(name).cast(pl.String)


def _parsed(column: Column, conventions: Conventions) -> pl.Expr:
    text, term = pl.col(column.name), column.mark(FromVocabulary)
    if term is not None and column.several:
        keys = list(vocabulary(term.vocabulary).term)
        return pl.when(text.str.split(BETWEEN).list.eval(pl.element().is_in(keys)).list.all()).then(
            text.str.split(BETWEEN)
        )
    if term is not None:
        return pl.when(text.is_in(list(vocabulary(term.vocabulary).term))).then(text)
    if column.several:
        words = pl.element().str.strip_chars()
        return text.str.split(BETWEEN).list.eval(words.filter(words != ""))
    value = PARSERS[column.dtype.base_type()](text)
    factor = conventions.factor(column)
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
    rows: pl.DataFrame, texts: pl.DataFrame, spec: TableSpec, column: Column
) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Judge each distinct text that the expressions refused: take its value, or say why not."""
    failed = rows[column.name].is_null() & texts[column.name].is_not_null()
    if not failed.any():
        return rows, no_problems()
    wrong = texts.filter(failed).select(ROW, text=column.name)
    judged = {t: judge_cell(spec, column, t) for t in wrong["text"].unique().to_list()}
    good = {t: v.value for t, v in judged.items() if not v.rule}
    if good:
        read = pl.DataFrame({"text": list(good), "value": pl.Series(list(good.values()), dtype=column.dtype)})
        values = texts.select(text=pl.when(failed).then(column.name)).join(
            read, on="text", how="left", maintain_order="left"
        )
        rows = rows.with_columns(pl.coalesce(column.name, values["value"]).alias(column.name))
    bad = [(t, v.rule, v.expected) for t, v in judged.items() if v.rule]
    reasons = pl.DataFrame(bad, schema={"text": pl.String, "rule": pl.String, "expected": pl.String}, orient="row")
    shown = pl.col("text").str.head(SHOWN_OF_A_CELL).alias("value")
    why = wrong.join(reasons, on="text").select(ROW, "rule", pl.lit(column.name).alias("column"), shown, "expected")
    return rows, why.select(pl.col(n).cast(t) for n, t in UNWORDED.items())


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


def odd_cells(cells: pl.DataFrame, columns: list[Column]) -> Mapping[str, pl.Series]:
    """By column, its texts without the numbers a machine reads and the terms of its vocabulary; of others all."""
    return {c.name: cells.select(_odd(c)).to_series() for c in columns}


def _odd(column: Column) -> pl.Expr:
    text, term = pl.col(column.name), column.mark(FromVocabulary)
    if is_number(column):
        own = column.dtype if column.dtype.is_integer() else pl.Float64
        return text.filter(text.is_not_null() & text.cast(own, strict=False).is_null())
    if term is not None:
        return text.filter(~text.is_in(list(vocabulary(term.vocabulary).term)))
    return text


def trimmed(cells: pl.DataFrame, odd: Mapping[str, pl.Series]) -> pl.DataFrame:
    """Trim where some cell needs it; elsewhere the column is the same memory as was read. `odd`: see `odd_cells`."""
    needed = [name for name, texts in odd.items() if texts.str.contains(NEEDS_TRIM).any()]
    spaced = cells.with_columns(pl.col(n).str.strip_chars() for n in needed)
    return spaced.with_columns(pl.when(pl.col(n) != "").then(n).alias(n) for n in needed)
