"""Faulty stretches of loggers: found in the readings as they come in or leave, written by the register, journalled."""

from collections.abc import Sequence
from datetime import datetime

import duckdb
import polars as pl

from collection.climate.faults import CLOCK, FAULTS, GAP, READING, faults
from collection.climate.parameters import readings
from collection.snapshot import ENTRY_NO, stored_schema
from collection.store import journal, tables
from collection.store.exchange import fetch, registered
from schemas.tables import RECORDS

SPEC, READINGS = RECORDS["logger_gap"], RECORDS["climate_reading"].name
TIME = RECORDS["climate_reading"].key[-1]
LOGGER, STARTS, KIND = SPEC.key
ENDS, DAY = (c.name for c in SPEC.columns if c.name not in SPEC.key)
STRETCH = [*SPEC.key, ENDS]
AT_CHANGE = pl.Schema({LOGGER: pl.String(), TIME: pl.Datetime("us")})


def renew(
    con: duckdb.DuckDBPyConnection, loggers: Sequence[str], at_change: pl.DataFrame, *, by: str, at_utc: datetime
) -> None:
    """Write the faulty stretches of these loggers anew: those that are no longer there leave, further ones are added.

    `at_change` (schema AT_CHANGE): readings in an hour that a change of the clock skips or repeats; such stretches stay
    as long as the logger has readings in them.
    """
    held = _held(con, loggers)
    clock = pl.concat([_clock(at_change), held.filter(pl.col(KIND) == CLOCK).select(FAULTS.names())])
    now = pl.concat([_stretches(con, logger, clock.filter(pl.col(LOGGER) == logger)) for logger in loggers])
    now = now.unique(SPEC.key, keep="first", maintain_order=True)
    gone = held.join(now, on=STRETCH, how="anti", maintain_order="left")
    new = now.join(held, on=STRETCH, how="anti", maintain_order="left")
    if not gone.is_empty():
        leaving = journal.departures(SPEC, gone, by=by, at_utc=at_utc, first_seq=journal.next_seq(con))
        journal.note(con, leaving)
        tables.drop_rows(con, SPEC, gone)
    if not new.is_empty():
        whole = _whole(con, new, at_utc)
        tables.put_rows(con, SPEC, whole, replace=False)
        seq = journal.next_seq(con)
        journal.note(con, journal.entries(SPEC, None, whole, by=by, at_utc=at_utc, first_seq=seq))


def faulty(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """Stretches whose readings are not to be trusted: logger_id, starts_at, ends_at."""
    rows = fetch(con, f"SELECT {LOGGER}, {STARTS}, {ENDS} FROM {SPEC.name} WHERE {KIND} <> '{GAP}' ORDER BY ALL")
    return rows.select(pl.col(n).cast(FAULTS[n]) for n in (LOGGER, STARTS, ENDS))


def hours_of(stretches: pl.DataFrame) -> pl.DataFrame:
    """logger_id and hour of every hour that a stretch touches, each once."""
    first = pl.col(STARTS).dt.truncate("1h")
    each = stretches.select(LOGGER, hour=pl.datetime_ranges(first, ENDS, "1h", time_unit="us"))
    return each.explode("hour", empty_as_null=True).drop_nulls().unique(maintain_order=True)


def _held(con: duckdb.DuckDBPyConnection, loggers: Sequence[str]) -> pl.DataFrame:
    asked = pl.DataFrame({LOGGER: list(loggers)}, schema={LOGGER: pl.String})
    with registered(con, asked=asked):
        rows = fetch(con, f"SELECT t.* FROM {SPEC.name} t SEMI JOIN asked USING ({LOGGER}) ORDER BY ALL")
    return tables.typed(rows, SPEC)


def _stretches(con: duckdb.DuckDBPyConnection, logger: str, clock: pl.DataFrame) -> pl.DataFrame:
    """Faults of one logger in all its readings, and those of the clock among which it has a reading."""
    names = ", ".join(READING)
    rows = fetch(con, f"SELECT {names} FROM {READINGS} WHERE {LOGGER} = ? ORDER BY {TIME}", [logger])
    rows = rows.select(pl.col(n).cast(t) for n, t in READING.items())
    sorted_times = rows.select(read=TIME).with_columns(pl.col("read").set_sorted())
    stretches = clock.sort(STARTS).join_asof(sorted_times, left_on=STARTS, right_on="read", strategy="forward")
    measured = stretches.filter(pl.col("read") <= pl.col(ENDS)).select(FAULTS.names())
    return pl.concat([faults(rows, readings()), measured])


def _clock(at_change: pl.DataFrame) -> pl.DataFrame:
    """Readings at a change of the clock as stretches, one a logger and day."""
    by_day = at_change.group_by(LOGGER, pl.col(TIME).dt.date().alias("day"), maintain_order=True)
    spans = by_day.agg(starts_at=pl.col(TIME).min(), ends_at=pl.col(TIME).max())
    return spans.with_columns(kind=pl.lit(CLOCK)).select(pl.col(n).cast(t) for n, t in FAULTS.items())


def _whole(con: duckdb.DuckDBPyConnection, rows: pl.DataFrame, at_utc: datetime) -> pl.DataFrame:
    first = tables.next_position(con, SPEC)
    own = {
        journal.VERSION: pl.lit(1, pl.Int64),
        DAY: pl.lit(at_utc.date()),
        ENTRY_NO: pl.int_range(first, pl.len() + first, dtype=pl.Int64),
    }
    schema = stored_schema(SPEC)
    filled = rows.sort(SPEC.key).with_columns(
        own[n].alias(n) if n in own else pl.lit(None, t).alias(n) for n, t in schema.items() if n not in rows.columns
    )
    return filled.select(pl.col(n).cast(t) for n, t in schema.items())
