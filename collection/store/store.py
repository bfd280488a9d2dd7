"""The store: read everything, write a change, and know whether anything has changed."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path

import duckdb
import polars as pl

from collection.snapshot import NOT_IN_SNAPSHOT, Collection, Version
from collection.store import journal, package, readings, tables
from collection.store.change import CONFLICTS, Change, Written
from collection.store.connection import connection
from collection.store.merge import RowDiff, diff_rows
from schemas.errors import StoreEmpty, WrongUsage
from schemas.tables import RECORDS, TableSpec

# A command waits for others that write; a page that has an older state to show waits less (dashboard/data.py).
READ_WAIT_S, WRITE_WAIT_S = 20.0, 20.0


def now_utc() -> datetime:
    """The time, UTC, without a zone mark, as kept."""
    return datetime.now(UTC).replace(tzinfo=None)


@dataclass(frozen=True)
class Store:
    """One DuckDB file. A connection lives for one call and is closed."""

    path: Path
    read_wait_s: float = READ_WAIT_S
    write_wait_s: float = WRITE_WAIT_S
    now: Callable[[], datetime] = now_utc

    def exists(self) -> bool:
        """There is a file at the path."""
        return self.path.is_file()

    def version(self) -> Version:
        """Changes whenever the store does: the stat of the file and its log, without a lock."""
        return tuple(_stat(p) for p in (self.path, self.path.with_name(f"{self.path.name}.wal")))

    def read(self) -> Collection:
        """Every record but climate readings and journal. Raises StoreUnusable, StoreBusy, StoreTooNew, StoreDamaged."""
        version = self.version()
        with self._reading() as con:
            return Collection(version, tables.read_collection(con))

    def read_journal(self) -> pl.DataFrame:
        """The journal in order; columns of record `journal`."""
        with self._reading() as con:
            return tables.read_table(con, RECORDS["journal"]).select(RECORDS["journal"].schema().names())

    def read_hours(self, locations: Sequence[str], first: date, last: date) -> pl.DataFrame:
        """Hourly means of the readings of these places; schema `readings.HOURS`."""
        with self._reading() as con:
            return readings.hours(con, locations, first, last)

    def write(self, change: Change, *, by: str) -> Written:
        """Write a change in one transaction, journalled. A row somebody else changed first is a conflict, as data."""
        with self._writing() as con:
            done = [_write_record(con, RECORDS[n], rows, change, by, self.now()) for n, rows in _in_order(change.rows)]
        return _summary(done)

    def write_readings(self, frames: Iterator[pl.DataFrame], file: str, sha256: str, *, by: str) -> Written:
        """Write climate readings; a reading that is there already is left out. One journal entry a file."""
        with self._writing() as con:
            added, same = readings.write(con, frames, file, sha256, by=by, at_utc=self.now())
        return Written(added={"climate_reading": added}, unchanged={"climate_reading": same})

    def publish(self, folder: Path, form: str) -> pl.DataFrame:
        """Write the whole store as a data package; one row a file: file, rows, sha256."""
        with self._reading() as con:
            return package.publish(lambda spec: tables.read_table(con, spec), folder, form)

    def import_package(self, folder: Path) -> Written:
        """Read a published package back into an empty store, journal included, as it stands."""
        frames = package.read(folder)
        with self._writing() as con:
            if any(con.sql(f"FROM {name} LIMIT 1").fetchall() for name in RECORDS):
                raise WrongUsage(
                    str(self.path), "the store is not empty", "an empty store", "Name a new file with --store."
                )
            for name, frame in frames.items():
                tables.put_rows(con, RECORDS[name], frame, replace=False)
        return Written(added={name: frame.height for name, frame in frames.items() if name not in NOT_IN_SNAPSHOT})

    @contextmanager
    def _reading(self) -> Iterator[duckdb.DuckDBPyConnection]:
        if not self.exists():
            raise StoreEmpty(
                str(self.path), "there is no store here yet", "", "Bring in a catalogue with `enamels intake FILE`."
            )
        with connection(self.path, wait_s=self.read_wait_s, read_only=True) as con:
            tables.require_version(con, str(self.path))
            yield con

    @contextmanager
    def _writing(self) -> Iterator[duckdb.DuckDBPyConnection]:
        """One transaction: all of it, or none."""
        self.path.parent.mkdir(parents=True, exist_ok=True)
        with connection(self.path, wait_s=self.write_wait_s, read_only=False) as con:
            con.begin()
            try:
                if not con.sql("SHOW TABLES").fetchall():
                    tables.create_all(con)
                tables.require_version(con, str(self.path))
                yield con
            except BaseException:
                con.rollback()
                raise
            con.commit()


def _stat(path: Path) -> tuple[int, int, int]:
    try:
        found = path.stat()
    except FileNotFoundError:
        return (0, 0, 0)
    return (found.st_ino, found.st_size, found.st_mtime_ns)


def _in_order(rows: Mapping[str, pl.DataFrame]) -> Iterator[tuple[str, pl.DataFrame]]:
    """Records in the order declared, whatever the order they came in, so that the journal is the same."""
    yield from ((name, rows[name]) for name in RECORDS if name in rows and not rows[name].is_empty())


def _write_record(
    con: duckdb.DuckDBPyConnection, spec: TableSpec, rows: pl.DataFrame, change: Change, by: str, at_utc: datetime
) -> tuple[str, RowDiff, pl.DataFrame]:
    kept = tables.read_rows(con, spec, rows.select(spec.key))
    found = diff_rows(spec, rows.sort(spec.key), kept, from_file=change.from_file)
    for old, new in ((None, found.new), (found.before, found.after)):
        if not new.is_empty():
            tables.put_rows(con, spec, new, replace=old is not None)
            journal.note(con, journal.entries(spec, old, new, by=by, at_utc=at_utc, first_seq=journal.next_seq(con)))
    return spec.name, found, _conflicts(con, spec, found.stale)


def _conflicts(con: duckdb.DuckDBPyConnection, spec: TableSpec, stale: pl.DataFrame) -> pl.DataFrame:
    if stale.is_empty():
        return pl.DataFrame(schema=CONFLICTS)
    keyed = stale.with_columns(key=journal.row_number(spec), record=pl.lit(spec.name))
    last = journal.last_changes(con, spec.name, keyed.select(pl.col("key").alias(journal.OF_ROW)).unique())
    return keyed.join(last, left_on="key", right_on=journal.OF_ROW, how="left").select(CONFLICTS.names())


def _summary(done: list[tuple[str, RowDiff, pl.DataFrame]]) -> Written:
    return Written(
        added={name: s.new.height for name, s, _ in done},
        changed={name: s.after.height for name, s, _ in done},
        unchanged={name: s.same for name, s, _ in done},
        conflicts=pl.concat([pl.DataFrame(schema=CONFLICTS), *(c for _, _, c in done)]),
    )
