"""Rules that one row can break by itself. Each is a function named for what a person sees; rows in, problems out.

What a museum sets for itself has rules of its own: settings, its own rates, the zone of a logger.
"""

from collections.abc import Callable, Mapping
from datetime import date
from typing import Any
from zoneinfo import available_timezones

import polars as pl

from collection.settings import problem
from collection.validation.problems import ROW, needed_columns, no_problems, problems_of
from schemas.fields import ForeignKey, Unit
from schemas.tables import TableSpec
from schemas.vocabularies import load_parameters, vocabulary

UNSEEN_LETTERS = r"[\p{Cc}\p{Cf}]"  # control and direction-changing characters (Unicode categories Cc and Cf)
PATH = r"(^|[/\\])\.\.([/\\]|$)|^[A-Za-z]:\\|^/"
A_RANGE = r"\.\d+\.\d+[-–]\d+$|[.\s\d][A-Za-z]\s*[-–]\s*\.?[A-Za-z]$"
YEARS = ("years_short", "years_likely", "years_long")
# Table of own rates to the table of rates.toml whose rows and states it may name.
TABLES = {"damage": "rate", "repair": "repair", "repair_material": "repair_material"}


def numbers_of(spec: TableSpec) -> list[str]:
    """Columns that hold numbers of things: the key, and what points to a key."""
    own = [k for k in spec.key if spec.column(k).dtype == pl.String]
    return own + [c.name for c in spec.marked(ForeignKey) if c.name not in spec.key]


def missing_value(rows: pl.DataFrame, spec: TableSpec) -> pl.DataFrame:
    """A key or another value that the record cannot do without is empty."""
    return _each(rows, needed_columns(spec), "missing_value", lambda c: pl.col(c).is_null(), shown=False)


def control_character(rows: pl.DataFrame, spec: TableSpec) -> pl.DataFrame:
    """A number holds a character that cannot be seen."""
    return _each(rows, numbers_of(spec), "control_character", lambda c: pl.col(c).str.contains(UNSEEN_LETTERS))


def number_as_path(rows: pl.DataFrame, spec: TableSpec) -> pl.DataFrame:
    """A number reads like a path to a file."""
    return _each(rows, numbers_of(spec), "number_as_path", lambda c: pl.col(c).str.contains(PATH))


def year_zero(rows: pl.DataFrame, spec: TableSpec) -> pl.DataFrame:
    """There was no year 0."""
    years = [
        c.name for c in spec.columns if (u := c.mark(Unit)) and u.symbol.startswith("year") and c.dtype == pl.Int64
    ]
    return _each(rows, years, "year_zero", lambda c: pl.col(c) == 0)


def years_reversed(rows: pl.DataFrame, spec: TableSpec) -> pl.DataFrame:
    """The earliest year lies after the latest."""
    if not {"earliest_year", "latest_year"} <= set(rows.columns):
        return no_problems()
    return _each(
        rows,
        ["earliest_year", "latest_year"],
        "years_reversed",
        lambda _: pl.col("earliest_year") > pl.col("latest_year"),
    )


def numbers_as_a_range(rows: pl.DataFrame, spec: TableSpec) -> pl.DataFrame:
    """A number reads like several: asked once, never split."""
    return _each(rows, list(spec.key[:1]), "numbers_as_a_range", lambda c: pl.col(c).str.contains(A_RANGE))


RowRule = Callable[[pl.DataFrame, TableSpec], pl.DataFrame]
ROW_RULES: tuple[RowRule, ...] = (
    missing_value,
    control_character,
    number_as_path,
    year_zero,
    years_reversed,
)


def undated_check(rows: pl.DataFrame, spec: TableSpec) -> pl.DataFrame:
    """Only a remark copied from a catalogue may lack its day."""
    remarks = list(vocabulary("look").terms_where("from_catalogue"))
    if "look" not in rows.columns:
        return no_problems()  # a check that is held stays as it is, of a new one the lacking look is refused
    dated = pl.col("checked_on").is_not_null() if "checked_on" in rows.columns else pl.lit(value=False)
    return problems_of(rows.filter(~dated & ~pl.col("look").is_in(remarks)), "undated_check", "checked_on")


def reading_without_value(rows: pl.DataFrame, spec: TableSpec) -> pl.DataFrame:
    """A time of a logger beside which nothing was measured."""
    measured = [c.name for c in spec.columns if c.dtype == pl.Float64 and c.name in rows.columns]
    none = pl.all_horizontal(pl.lit(value=True), *(pl.col(n).is_null() for n in measured))
    return problems_of(rows.filter(none), "reading_without_value", spec.key[-1])


def unusable_setting(rows: pl.DataFrame, spec: TableSpec) -> pl.DataFrame:
    """A setting nobody knows, or a value it cannot have."""
    pairs = rows.select("name", "value").iter_rows()  # a museum has about ten settings
    wrong = [bool(name and value and problem(name, value)) for name, value in pairs]
    return problems_of(rows.filter(pl.Series(wrong, dtype=pl.Boolean)), "unusable_setting", "value")


def unknown_rate(rows: pl.DataFrame, spec: TableSpec) -> pl.DataFrame:
    """An own rate for a table, a term or a state that has no starting rate."""
    keys = [(table, term, state) for table, dotted in TABLES.items() for term, state in _states(dotted)]
    known = pl.DataFrame(keys, schema=dict.fromkeys(("rate_table", "term", "state"), pl.String), orient="row")
    return problems_of(rows.join(known, on=known.columns, how="anti", maintain_order="left"), "unknown_rate", "term")


def _states(dotted: str) -> list[tuple[str, str]]:
    table: Mapping[str, Any] = load_parameters("rates")[dotted]
    return [(term, state) for term, row in table.items() for state, its in row.items() if isinstance(its, dict)]


def years_out_of_order(rows: pl.DataFrame, spec: TableSpec) -> pl.DataFrame:
    """Years of an own rate that are not short, likely, long in that order."""
    given = rows.with_columns(pl.lit(None, pl.Float64).alias(n) for n in YEARS if n not in rows.columns)
    short, likely, long = map(pl.col, YEARS)
    wrong = (short > likely) | (likely > long) | (short > long)
    return problems_of(given.filter(wrong.fill_null(value=False)), "years_out_of_order", "years_likely")


def unknown_zone(rows: pl.DataFrame, spec: TableSpec) -> pl.DataFrame:
    """The time zone of a reading is none there is."""
    if "source_zone" not in rows.columns:
        return problems_of(rows.clear(), "unknown_zone", "source_zone")
    return problems_of(
        rows.filter(~pl.col("source_zone").is_in(list(available_timezones()))), "unknown_zone", "source_zone"
    )


MORE_RULES: Mapping[str, tuple[RowRule, ...]] = {
    "object": (numbers_as_a_range,),
    "condition_check": (undated_check,),
    "setting": (unusable_setting,),
    "own_rate": (unknown_rate, years_out_of_order),
    "climate_reading": (unknown_zone, reading_without_value),
}
FIRST_DAY = date(1800, 1, 1)  # before it nobody wrote down a condition
SEEN_DAYS = ("checked_on", "condition_remark_on", "first_seen_on")


def unlikely_date(rows: pl.DataFrame, today: date) -> pl.DataFrame:
    """A day on which something was seen lies in the future, or before anybody wrote such things down."""
    days = [c for c in SEEN_DAYS if f"{c}_earliest" in rows.columns]
    return _each(
        rows,
        days,
        "unlikely_date",
        lambda c: (pl.col(f"{c}_earliest") > pl.lit(today)) | (pl.col(f"{c}_latest") < pl.lit(FIRST_DAY)),
    )


def reading_in_future(rows: pl.DataFrame, today: date) -> pl.DataFrame:
    """A logger cannot have read what is still to come; a day is left for clocks of other zones."""
    return _each(
        rows, ["read_at"], "reading_in_future", lambda c: pl.col(c).dt.date() > pl.lit(today).dt.offset_by("1d")
    )


def broken_row_rules(rows: pl.DataFrame, spec: TableSpec, before: pl.DataFrame, today: date) -> pl.DataFrame:
    """Problems of rows by themselves; of a cell that could not be read nothing more is said. Schema `UNWORDED`."""
    whole = before.filter(pl.col("column").is_null()).select(ROW)  # a row that could not be read says nothing else
    own = rows if whole.is_empty() else rows.join(whole, on=ROW, how="anti", maintain_order="left")
    broken = [rule(own, spec) for rule in (*ROW_RULES, *MORE_RULES.get(spec.name, ()))]
    listed = pl.concat([no_problems(), *broken, unlikely_date(own, today), reading_in_future(own, today)])
    return listed.join(before.select(ROW, "column"), on=[ROW, "column"], how="anti", maintain_order="left")


def _each(
    rows: pl.DataFrame, columns: list[str], rule: str, breaks: Callable[[str], pl.Expr], *, shown: bool = True
) -> pl.DataFrame:
    present = [c for c in columns if c in rows.columns]
    broken = rows.select(breaks(c).any().alias(c) for c in present).row(0, named=True) if present else {}
    listed = [
        problems_of(rows.filter(breaks(c)).select(ROW, c), rule, c, value=_visible(c) if shown else None)
        for c in present
        if broken[c]
    ]
    return pl.concat([no_problems(), *listed])


def _visible(column: str) -> pl.Expr:
    """The value with what cannot be seen made visible."""
    return pl.col(column).cast(pl.String).str.replace_all(UNSEEN_LETTERS, "\N{SYMBOL FOR SUBSTITUTE FORM TWO}")
