"""The store: read everything, write a change, and know whether anything has changed."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path

import duckdb
import polars as pl

from collection.files import require_free
from collection.snapshot import Collection, Version
from collection.store import deliveries, journal, package, readings, related, tables, undo
from collection.store.change import Change, FileReadings, Withheld, Written
from collection.store.connection import connection, turn
from collection.store.copies import log_of
from collection.store.creation import create
from collection.store.faults import empty, require_store_file
from collection.store.upgrade import migrated_copy, upgrade
from schemas.errors import OutputRefused, StoreEmpty, StoreUnwritable

# A command waits for others that write; a page that has an older state to show waits less (dashboard/data.py).
READ_WAIT_S, WRITE_WAIT_S = 20.0, 20.0


def now_utc() -> datetime:
    """The time, UTC, without a zone mark, as stored."""
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
        return _stat(self.path) != _NOTHING

    def version(self) -> Version:
        """Changes whenever the store does: the stat of the file and its log, without a lock."""
        return tuple(_stat(p) for p in (self.path, log_of(self.path)))

    def read(self) -> Collection:
        """Every record but climate readings and journal. Raises StoreUnusable, StoreBusy, StoreTooNew, StoreDamaged."""
        version = self.version()
        with self.reading() as con:
            return Collection(version, tables.read_collection(con))

    def read_related(self, rows: Mapping[str, pl.DataFrame]) -> Collection:
        """What the register holds about incoming rows: enough for every rule, and far less than all of it.

        `rows`: by record, any of the columns of its key and of its foreign keys. Every record is there, with the rows
        concerned; small records are whole. Raises StoreUnusable as `read` does.
        """
        version = self.version()
        with self.reading() as con:
            return Collection(version, related.read(con, rows))

    def read_record(self, name: str) -> pl.DataFrame:
        """All rows of one record in order of their key; schema `kept_schema`. Raises StoreUnusable."""
        return self.read_records(name)[name]

    def read_records(self, *names: str) -> Mapping[str, pl.DataFrame]:
        """All rows of some records, of one moment, as `read_record` gives each. Raises StoreUnusable."""
        with self.reading() as con:
            return tables.read_tables(con, names)

    def read_journal(self, *, record: str | None = None, number: str | None = None) -> pl.DataFrame:
        """The journal in order, of one record or row number if named; columns of record `journal`."""
        with self.reading() as con:
            return journal.read(con, record=record, number=number)[0]

    def read_last_changes(
        self, last: int, *, record: str | None = None, number: str | None = None
    ) -> tuple[pl.DataFrame, int]:
        """The last entries of the journal, in order, and how many there are in all; columns of record `journal`."""
        with self.reading() as con:
            return journal.read(con, last=last, record=record, number=number)

    def read_with_hours(
        self, cut: Callable[[Collection], Collection], span: Callable[[Collection], tuple[Sequence[str], date, date]]
    ) -> tuple[Collection, pl.DataFrame]:
        """What `cut` makes of every record, and the hourly means of the places and days `span` then names.

        Both are of one moment. Raises StoreUnusable as `read` does; hours have schema `readings.HOURS`.
        """
        version = self.version()
        with self.reading() as con:
            collection = cut(Collection(version, tables.read_collection(con)))
            return collection, readings.hours(con, *span(collection))

    def read_hours(self, locations: Sequence[str], first: date, last: date) -> pl.DataFrame:
        """Hourly means of the readings of these places; schema `readings.HOURS`."""
        with self.reading() as con:
            return readings.hours(con, locations, first, last)

    def write(self, change: Change, *, by: str) -> Written:
        """Write a change in one transaction, journalled. A row somebody else changed first is a conflict, as data; of a
        change that is whole nothing is written then.

        Raises StoreBusy, StoreTooNew, StoreDamaged, StoreUnwritable; SourceRefused for readings in an unknown zone.
        """
        from collection.store.write import write_change  # before the store is held; those who only read do without

        try:
            with self.writing() as con:
                written = write_change(con, change, by=by, at_utc=self.now())
                if change.whole and written.conflicts.height:
                    raise Withheld(written.conflicts)
        except Withheld as withheld:
            return Written(conflicts=withheld.conflicts)
        return written

    def write_readings(self, frames: Iterable[pl.DataFrame], file: str, sha256: str, *, by: str) -> Written:
        """Write the climate readings of one file; a reading that is there already is left out."""
        return self.write(Change({}, from_file=True, readings=[FileReadings(frames, file, sha256)]), by=by)

    def deliveries(self) -> pl.DataFrame:
        """What came in, in order; schema `kept_schema` of record `delivery`."""
        return self.read_record("delivery").sort(deliveries.FIRST)

    def read_changes_of(self, delivery_id: str) -> pl.DataFrame:
        """Journal entries of rows that a delivery changed, in order; columns of record `journal`. Raises NotFound."""
        with self.reading() as con:
            return deliveries.changes_of(con, delivery_id)

    def undo(self, delivery_id: str | None = None, *, by: str) -> undo.Undone:
        """Take back a delivery (None: the last that was not undone) in one transaction, itself journalled.

        Where later changes stand on its rows nothing is done, and they are named. Raises NotFound, WrongUsage for one
        that is undone already, StoreUnusable.
        """
        if not self.exists():
            raise empty(self.path)
        with self.writing() as con:
            return undo.undo(con, deliveries.chosen(con, delivery_id), by=by, at_utc=self.now())

    def publish(self, folder: Path, form: str, *, replace: bool = False) -> pl.DataFrame:
        """Write the whole store as a data package; one row a file: file, rows, sha256.

        `replace`: an earlier package of ours may be replaced. Raises OutputRefused for any other folder that is there
        and not empty, StoreUnusable.
        """
        with self.reading() as con:
            return package.publish(lambda spec: tables.read_table(con, spec), folder, form, replace=replace)

    def import_package(self, folder: Path, *, dry_run: bool = False) -> Written:
        """Read a published package back into an empty store, journal included, as it stands.

        `dry_run`: judge it and count, and write nothing. Raises SourceRefused, WrongUsage for a store with rows.
        """
        from collection.store import package_reading  # with pyarrow, 0.1 s of start-up that no other command needs

        published = package_reading.read(folder)
        if not dry_run:
            with self.writing() as con:
                package_reading.put(con, published, str(self.path), at_utc=self.now())
        elif self.exists():
            with suppress(StoreEmpty), self.reading() as con:
                package_reading.require_empty(con, str(self.path))
        return Written(added=package_reading.counts(published))

    def publish_workbook(self, path: Path, *, replace: bool = False) -> pl.DataFrame:
        """Write the whole store as one workbook; schema `workbook.SHEETS`.

        `replace`: a workbook of ours may be replaced. Raises OutputRefused for any other file that is there,
        StoreUnusable.
        """
        from collection.store import workbook  # with a library that no other command needs

        require_free(path, store=self.path, replace=replace and workbook.is_ours(path))
        with self.reading() as con:
            return workbook.publish(lambda spec: tables.read_table(con, spec), path)

    @contextmanager
    def reading(self) -> Iterator[duckdb.DuckDBPyConnection]:
        """A connection that only reads, to a store of the newest schema. Raises StoreUnusable."""
        with connection(self.path, wait_s=self.read_wait_s, read_only=True) as con:
            if tables.schema_version(con, str(self.path)) == tables.SCHEMA_VERSION:
                yield con
                return
        with self._reading_older() as con:
            yield con

    @contextmanager
    def _reading_older(self) -> Iterator[duckdb.DuckDBPyConnection]:
        try:
            upgrade(self.path, wait_s=self.write_wait_s, at_utc=self.now())
        except (StoreUnwritable, OutputRefused):  # a read-only medium, no room for the copy
            with migrated_copy(self.path, wait_s=self.read_wait_s, at_utc=self.now()) as con:
                yield con
        else:
            with connection(self.path, wait_s=self.read_wait_s, read_only=True) as con:
                yield con

    @contextmanager
    def writing(self) -> Iterator[duckdb.DuckDBPyConnection]:
        """One transaction on a store of the newest schema: all of it, or none. Raises StoreUnusable."""
        with turn(self.path, wait_s=self.write_wait_s):
            self._require_file()
            with connection(self.path, wait_s=self.write_wait_s, read_only=False) as con:
                if tables.schema_version(con, str(self.path)) == tables.SCHEMA_VERSION:
                    with _transaction(con):
                        yield con
                    return
            upgrade(self.path, wait_s=self.write_wait_s, at_utc=self.now())
            with connection(self.path, wait_s=self.write_wait_s, read_only=False) as con, _transaction(con):
                yield con

    def _require_file(self) -> None:
        """Make an empty store where there is none, or only a file that nothing was ever written to."""
        try:
            require_store_file(self.path, read_only=False)
            if not self.exists():
                raise empty(self.path)
        except StoreEmpty:
            create(self.path)


@contextmanager
def _transaction(con: duckdb.DuckDBPyConnection) -> Iterator[None]:
    con.begin()
    try:
        # A copy that somebody works on is a store from now on, and `backup` must not remove it.
        con.execute(f"UPDATE {tables.ABOUT} SET copied_at = NULL WHERE copied_at IS NOT NULL")
        yield
    except BaseException:
        con.rollback()
        raise
    con.commit()


_NOTHING = (0, 0, 0)


def _stat(path: Path) -> tuple[int, int, int]:
    try:
        status = path.stat()
    except (OSError, ValueError):
        return _NOTHING
    return (status.st_ino, status.st_size, status.st_mtime_ns)
