"""Rules about what a museum sets for itself: settings, its own rates, the zone of a logger. Rows in, problems out."""

from collections.abc import Mapping
from typing import Any
from zoneinfo import available_timezones

import polars as pl

from collection.settings import problem
from collection.validation.problems import problems_of
from schemas.tables import TableSpec
from schemas.vocabularies import load_parameters

YEARS = ("years_short", "years_likely", "years_long")
# Table of own rates to the table of rates.toml whose rows and states it may name.
TABLES = {"damage": "rate", "repair": "repair", "repair_material": "repair_material"}


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
