"""Climate readings: too many to carry about, so they have their own way in and come out as hourly means."""

from collections.abc import Iterator, Sequence
from datetime import date, datetime

import duckdb
import polars as pl

from collection.snapshot import kept_schema
from collection.store import tables
from collection.store.journal import READ_IN
from schemas.tables import RECORDS

HOURS = pl.Schema(
    {
        "location_id": pl.String(),
        "hour": pl.Datetime("us"),
        "temperature_c": pl.Float64(),
        "rh_percent": pl.Float64(),
        "lux": pl.Float64(),
    }
)
SPEC = RECORDS["climate_reading"]


def write(
    con: duckdb.DuckDBPyConnection, frames: Iterator[pl.DataFrame], file: str, sha256: str, *, by: str, at_utc: datetime
) -> tuple[int, int]:
    """Add readings that are not there yet; returns how many were added and how many were there."""
    added = same = 0
    first: datetime | None = None
    last: datetime | None = None
    for frame in frames:
        once = frame.unique(SPEC.key, keep="first", maintain_order=True)
        fresh = _fresh(con, once)
        tables.put_rows(con, SPEC, _whole(fresh, file), replace=False)
        added, same = added + fresh.height, same + frame.height - fresh.height
        first = min(filter(None, (first, fresh["read_at"].min())), default=None)  # type: ignore[type-var,arg-type]
        last = max(filter(None, (last, fresh["read_at"].max())), default=None)  # type: ignore[type-var,arg-type]
    if added:
        _note(con, file, sha256, added, first, last, by, at_utc)
    return added, same


def hours(con: duckdb.DuckDBPyConnection, locations: Sequence[str], first: date, last: date) -> pl.DataFrame:
    """Hourly means [°C, %, lx] of the places named, first and last day included."""
    con.register("places", pl.DataFrame({"location_id": list(locations)}, schema={"location_id": pl.String}))
    frame = con.sql(
        "SELECT location_id, date_trunc('hour', read_at) AS hour, avg(temperature_c) AS temperature_c, "
        "avg(rh_percent) AS rh_percent, avg(lux) AS lux FROM climate_reading SEMI JOIN places USING (location_id) "
        "WHERE read_at >= ? AND read_at < ?::DATE + INTERVAL 1 DAY GROUP BY ALL ORDER BY ALL",
        params=[first, last],
    ).pl()
    con.unregister("places")
    return frame.select(pl.col(n).cast(t) for n, t in HOURS.items())


def _fresh(con: duckdb.DuckDBPyConnection, frame: pl.DataFrame) -> pl.DataFrame:
    """Only the months and loggers at hand are searched for what is there already."""
    con.register("incoming", frame.select(SPEC.key))
    there = con.sql(
        "SELECT r.logger_id, r.read_at FROM climate_reading r SEMI JOIN incoming USING (logger_id, read_at) "
        "WHERE r.read_at BETWEEN (SELECT min(read_at) FROM incoming) AND (SELECT max(read_at) FROM incoming)"
    ).pl()
    con.unregister("incoming")
    keys = there.select(pl.col(n).cast(SPEC.schema()[n]) for n in SPEC.key)
    return frame.join(keys, on=SPEC.key, how="anti", maintain_order="left")


def _whole(frame: pl.DataFrame, file: str) -> pl.DataFrame:
    schema = kept_schema(SPEC)
    filled = frame.with_columns(pl.lit(None, t).alias(n) for n, t in schema.items() if n not in frame.columns)
    return filled.with_columns(row_version=pl.lit(1, pl.Int64), source_file=pl.lit(file)).select(
        pl.col(n).cast(t) for n, t in schema.items()
    )


def _note(
    con: duckdb.DuckDBPyConnection, file: str, sha256: str, rows: int, first: object, last: object, by: str, at: datetime
) -> None:
    con.execute(
        "INSERT INTO journal (seq, changed_at, changed_by, record_name, row_key, action, after) "
        "SELECT coalesce(max(seq), 0) + 1, ?, ?, ?, to_json({sha256: ?})::VARCHAR, ?, "
        "to_json({file: ?, rows: ?, first: ?, last: ?})::VARCHAR FROM journal",
        [at, by, SPEC.name, sha256, READ_IN, file, rows, str(first), str(last)],
    )
