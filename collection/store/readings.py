"""Climate readings: too many to carry about, so they have their own way in and come out as hourly means."""

import json
from collections.abc import Iterator, Sequence
from datetime import date, datetime

import duckdb
import polars as pl

from collection.snapshot import kept_schema
from collection.store import journal, tables
from schemas.fields import ForeignKey
from schemas.tables import RECORDS

SPEC = RECORDS["climate_reading"]
LOGGER, TIME = SPEC.key
PLACE = SPEC.marked(ForeignKey)[0].name
MEASURED = tuple(c.name for c in SPEC.columns if c.dtype == pl.Float64)
HOUR = "hour"
HOURS = pl.Schema({PLACE: pl.String(), HOUR: pl.Datetime("us"), **{name: pl.Float64() for name in MEASURED}})


def write(
    con: duckdb.DuckDBPyConnection, frames: Iterator[pl.DataFrame], file: str, sha256: str, *, by: str, at_utc: datetime
) -> tuple[int, int]:
    """Add readings that are not there yet; returns how many were added and how many were there."""
    added = same = 0
    moments: list[datetime] = []
    for frame in frames:
        once = frame.unique(SPEC.key, keep="first", maintain_order=True)
        fresh = _fresh(con, once)
        tables.put_rows(con, SPEC, _whole(fresh, file), replace=False)
        added, same = added + fresh.height, same + frame.height - fresh.height
        moments += [t for t in (fresh[TIME].min(), fresh[TIME].max()) if isinstance(t, datetime)]
    if added:
        _note(
            con,
            {"file": file, "rows": added, "first": str(min(moments)), "last": str(max(moments))},
            sha256,
            by,
            at_utc,
        )
    return added, same


def hours(con: duckdb.DuckDBPyConnection, locations: Sequence[str], first: date, last: date) -> pl.DataFrame:
    """Hourly means [°C, %, lx] of the places named, first and last day included; schema `HOURS`."""
    con.register("places", pl.DataFrame({PLACE: list(locations)}, schema={PLACE: pl.String}))
    means = ", ".join(f"avg({name}) AS {name}" for name in MEASURED)
    frame: pl.DataFrame = con.sql(
        f"SELECT {PLACE}, date_trunc('hour', {TIME}) AS {HOUR}, {means} FROM {SPEC.name} "
        f"SEMI JOIN places USING ({PLACE}) "
        f"WHERE {TIME} >= ? AND {TIME} < ?::DATE + INTERVAL 1 DAY GROUP BY ALL ORDER BY ALL",
        params=[first, last],
    ).pl()
    con.unregister("places")
    return frame.select(pl.col(n).cast(t) for n, t in HOURS.items())


def _fresh(con: duckdb.DuckDBPyConnection, frame: pl.DataFrame) -> pl.DataFrame:
    """Only the months and loggers at hand are searched for what is there already."""
    con.register("incoming", frame.select(SPEC.key))
    there = con.sql(
        f"SELECT {LOGGER}, {TIME} FROM {SPEC.name} SEMI JOIN incoming USING ({LOGGER}, {TIME}) "
        f"WHERE {TIME} BETWEEN (SELECT min({TIME}) FROM incoming) AND (SELECT max({TIME}) FROM incoming)"
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


def _note(con: duckdb.DuckDBPyConnection, told: dict[str, object], sha256: str, by: str, at_utc: datetime) -> None:
    """One entry a file."""
    row = (
        journal.next_seq(con),
        at_utc,
        by,
        SPEC.name,
        json.dumps({"sha256": sha256}),
        journal.READ_IN,
        None,
        json.dumps(told),
    )
    journal.note(con, pl.DataFrame([row], schema=journal.SPEC.schema(), orient="row"))
