"""Climate readings: too many to carry about, so they have their own way in and come out as hourly means."""

import json
from collections.abc import Sequence
from datetime import date, datetime

import duckdb
import polars as pl

from collection.climate.clock import is_zone, to_utc
from collection.frames import returns
from collection.snapshot import stored_schema
from collection.store import gaps, journal, tables
from collection.store.change import FileReadings
from collection.store.exchange import fetch, registered
from schemas.errors import SourceRefused
from schemas.fields import ForeignKey
from schemas.tables import RECORDS

SPEC = RECORDS["climate_reading"]
LOGGER, TIME = SPEC.key
ZONE, READ_IN = SPEC.columns[3].name, SPEC.columns[-1].name
PLACE = SPEC.marked(ForeignKey)[0].name
PLACES = RECORDS[SPEC.marked(ForeignKey)[0].mark(ForeignKey).record].name  # type: ignore[union-attr]
MEASURED = tuple(c.name for c in SPEC.columns if c.dtype == pl.Float64)
HOUR, MARK = "hour", "at_change"
HOURS = pl.Schema({PLACE: pl.String(), HOUR: pl.Datetime("us"), **{name: pl.Float64() for name in MEASURED}})


def write(con: duckdb.DuckDBPyConnection, source: FileReadings, *, by: str, at_utc: datetime) -> tuple[int, int]:
    """Add the readings of a file that are not there yet; returns how many were added and how many were there.

    Times of a row with a `source_zone` are of that zone and are turned into UTC. Any added make one journal entry.
    Raises SourceRefused for a zone nobody knows.
    """
    seq = journal.next_seq(con)
    added = same = 0
    loggers: dict[str, None] = {}
    at_change = (
        []
        if source.at_change is None
        else [source.at_change.select(pl.col(n).cast(t) for n, t in gaps.AT_CHANGE.items())]
    )
    moments: list[datetime] = []
    for frame in source.frames:
        read = in_utc(frame, source.file)
        at_change.append(read.filter(MARK).select(pl.col(n).cast(t) for n, t in gaps.AT_CHANGE.items()))
        once = read.drop(MARK).unique(SPEC.key, keep="first", maintain_order=True)
        fresh = _fresh(con, once)
        tables.put_rows(con, SPEC, _whole(fresh, source.file, seq), replace=False)
        added, same = added + fresh.height, same + frame.height - fresh.height
        loggers |= dict.fromkeys(fresh[LOGGER].unique(maintain_order=True).to_list())
        moments += [t for t in (fresh[TIME].min(), fresh[TIME].max()) if isinstance(t, datetime)]
    if added:
        summary = {"file": source.file, "rows": added, "first": str(min(moments)), "last": str(max(moments))}
        note(con, seq, source.sha256, journal.READ_IN, after=json.dumps(summary), by=by, at_utc=at_utc)
        gaps.renew(con, list(loggers), pl.concat(at_change), by=by, at_utc=at_utc)
    return added, same


def in_utc(frame: pl.DataFrame, file: str = "") -> pl.DataFrame:
    """Readings with the times of rows that name a zone turned from that zone into UTC; the zone stays as a note.

    `at_change` marks those in an hour that a change of the clock skips or repeats. Raises SourceRefused for a zone
    nobody knows.
    """
    if ZONE not in frame.columns or frame[ZONE].null_count() == frame.height:
        return frame.with_columns(pl.lit(value=False).alias(MARK))
    parts = frame.with_row_index("nth").partition_by(ZONE, maintain_order=True)
    joined = pl.concat([_of_zone(part, part[ZONE][0], file) for part in parts])
    return joined.sort("nth").drop("nth")


def _of_zone(part: pl.DataFrame, zone: str | None, file: str) -> pl.DataFrame:
    if zone is None:
        return part.with_columns(pl.col(TIME).cast(pl.Datetime("us")), pl.lit(value=False).alias(MARK))
    if not is_zone(zone):
        expected = "a zone of the time zone database, such as Europe/Berlin or UTC"
        raise SourceRefused(file, f"'{zone}' is no time zone", expected, "Correct the zone, then try again.")
    return to_utc(part, TIME, zone, LOGGER)


def note(
    con: duckdb.DuckDBPyConnection,
    seq: int,
    sha256: str,
    action: str,
    *,
    before: str | None = None,
    after: str | None = None,
    by: str,
    at_utc: datetime,
) -> None:
    """Write the one journal entry of a file of readings that came in, or was taken out."""
    key = json.dumps({"sha256": sha256}, separators=(",", ":"))
    row = (seq, at_utc, by, SPEC.name, key, action, before, after)
    journal.note(con, pl.DataFrame([row], schema=journal.SPEC.schema(), orient="row"))


def take_out(con: duckdb.DuckDBPyConnection, entry: dict[str, object], *, by: str, at_utc: datetime) -> int:
    """Remove the readings that one journal entry brought in; journalled. Returns how many they were."""
    ((count,),) = con.sql(
        f"SELECT count(*) FROM {SPEC.name} WHERE {READ_IN} = ?", params=[entry[journal.SEQ]]
    ).fetchall()
    of = con.sql(
        f"SELECT DISTINCT {LOGGER} FROM {SPEC.name} WHERE {READ_IN} = ?", params=[entry[journal.SEQ]]
    ).fetchall()
    con.execute(f"DELETE FROM {SPEC.name} WHERE {READ_IN} = ?", [entry[journal.SEQ]])
    sha256 = json.loads(str(entry[journal.OF_ROW]))["sha256"]
    seq = journal.next_seq(con)
    note(con, seq, sha256, journal.REMOVED, before=str(entry[journal.AFTER]), by=by, at_utc=at_utc)
    gaps.renew(con, sorted(name for (name,) in of), pl.DataFrame(schema=gaps.AT_CHANGE), by=by, at_utc=at_utc)
    return int(count)


@returns(HOURS)
def hours(con: duckdb.DuckDBPyConnection, locations: Sequence[str], first: date, last: date) -> pl.DataFrame:
    """Hourly means [°C, %, lx] of the places named, first and last day included; schema `HOURS`.

    Readings in a faulty stretch are left out. The logger that a place names counts, and in hours without a reading of
    its own the mean of the others there.
    """
    places = pl.DataFrame({PLACE: list(locations)}, schema={PLACE: pl.String})
    stretches = gaps.faulty(con)
    touched = gaps.hours_of(stretches)
    own = f"FILTER (h.{LOGGER} = l.{LOGGER})"
    means = ", ".join(f"coalesce(avg(h.{n}) {own}, avg(h.{n})) AS {n}" for n in MEASURED)
    by_logger = _by_logger() if touched.is_empty() else f"{_by_logger(SOUND)} UNION ALL {_by_logger(IN_PART)}"
    hourly = (
        f"SELECT h.{PLACE}, {HOUR}, {means} FROM ({by_logger}) h SEMI JOIN places USING ({PLACE}) "
        f"LEFT JOIN {PLACES} l USING ({PLACE}) "
        "GROUP BY ALL ORDER BY ALL"
    )
    span = [first, last] if touched.is_empty() else [first, last, first, last]
    with registered(con, places=places, touched=touched, stretches=stretches):
        frame = fetch(con, hourly, span)
    return frame.select(pl.col(n).cast(t) for n, t in HOURS.items())


# Hours that no faulty stretch touches are taken as they are; of the others what lies outside the stretches.
TOUCHED = f"FROM touched b WHERE b.{LOGGER} = r.{LOGGER} AND b.{HOUR} = date_trunc('hour', r.{TIME})"
WITHIN = f"FROM stretches g WHERE g.{LOGGER} = r.{LOGGER} AND r.{TIME} BETWEEN g.{gaps.STARTS} AND g.{gaps.ENDS}"
SOUND = f"AND NOT EXISTS ({TOUCHED})"
IN_PART = f"AND EXISTS ({TOUCHED}) AND NOT EXISTS ({WITHIN})"


def _by_logger(and_so: str = "") -> str:
    """Hourly means of each logger at each place; places are chosen after that, when there are few rows."""
    means = ", ".join(f"avg(r.{n}) AS {n}" for n in MEASURED)
    return (
        f"SELECT r.{PLACE}, r.{LOGGER}, date_trunc('hour', r.{TIME}) AS {HOUR}, {means} FROM {SPEC.name} r "
        f"WHERE r.{TIME} >= ? AND r.{TIME} < ?::DATE + INTERVAL 1 DAY {and_so} "
        f"GROUP BY r.{PLACE}, r.{LOGGER}, date_trunc('hour', r.{TIME})"
    )


def _fresh(con: duckdb.DuckDBPyConnection, frame: pl.DataFrame) -> pl.DataFrame:
    """Only the months and loggers at hand are searched for what is there already."""
    known = (
        f"SELECT {LOGGER}, {TIME} FROM {SPEC.name} SEMI JOIN incoming USING ({LOGGER}, {TIME}) "
        f"WHERE {TIME} BETWEEN (SELECT min({TIME}) FROM incoming) AND (SELECT max({TIME}) FROM incoming)"
    )
    with registered(con, incoming=frame.select(SPEC.key)):
        there = fetch(con, known)
    keys = there.select(pl.col(n).cast(SPEC.schema()[n]) for n in SPEC.key)
    return frame.join(keys, on=SPEC.key, how="anti", maintain_order="left")


def _whole(frame: pl.DataFrame, file: str, seq: int) -> pl.DataFrame:
    schema = stored_schema(SPEC)
    filled = frame.with_columns(pl.lit(None, t).alias(n) for n, t in schema.items() if n not in frame.columns)
    own = filled.with_columns(
        pl.lit(1, pl.Int64).alias(journal.VERSION), pl.lit(seq).alias(READ_IN), source_file=pl.lit(file)
    )
    return own.select(pl.col(n).cast(t) for n, t in schema.items())
