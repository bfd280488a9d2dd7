"""A change becomes rows and journal entries, in the transaction of the caller."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime

import duckdb
import polars as pl
from natsort import natsorted

from collection.snapshot import ENTRY_NO, SOURCE_ROW, empty_rows
from collection.store import deliveries, journal, readings, tables
from collection.store.change import CONFLICTS, Change, Written
from collection.store.merge import RowDiff, diff_rows
from schemas.tables import RECORDS, TableSpec


@dataclass(frozen=True)
class _Done:
    """What became of the rows of one record."""

    record: str
    diff: RowDiff
    conflicts: pl.DataFrame


@dataclass(frozen=True)
class _Held:
    """What the store holds before a change: asked once, so that nothing is looked for in an empty table."""

    records: frozenset[str]
    any_left: bool  # some row was taken out of its table by an undo

    @classmethod
    def of(cls, con: duckdb.DuckDBPyConnection) -> "_Held":
        return cls(frozenset(tables.with_rows(con)), journal.any_left(con))

    def rows(self, con: duckdb.DuckDBPyConnection, spec: TableSpec, keys: pl.DataFrame) -> pl.DataFrame:
        """The rows of a record with these keys."""
        return tables.read_rows(con, spec, keys) if spec.name in self.records else empty_rows(spec)

    def next_position(self, con: duckdb.DuckDBPyConnection, spec: TableSpec) -> int:
        """The position of the next new row of a record."""
        return tables.next_position(con, spec) if spec.name in self.records else 1


def write_change(con: duckdb.DuckDBPyConnection, change: Change, *, by: str, at_utc: datetime) -> Written:
    """Write rows, readings and the delivery they came in; all journalled."""
    first_seq, held = journal.next_seq(con), _Held.of(con)
    done = [_write_record(con, RECORDS[n], rows, change, held, by, at_utc) for n, rows in _in_order(change.rows)]
    read_in = {f.sha256: readings.write(con, f, by=by, at_utc=at_utc) for f in change.readings}
    written = _summary(done, read_in)
    if change.delivery is None:
        return written
    number = deliveries.note(con, change.delivery, written, first_seq, by=by, at_utc=at_utc)
    return Written(
        written.added, written.changed, written.unchanged, written.conflicts, written.readings, delivery_id=number
    )


def _in_order(rows: Mapping[str, pl.DataFrame]) -> Iterator[tuple[str, pl.DataFrame]]:
    """Records in the order declared, whatever the order they came in, so that the journal is the same."""
    yield from ((name, rows[name]) for name in RECORDS if name in rows and not rows[name].is_empty())


def _write_record(
    con: duckdb.DuckDBPyConnection,
    spec: TableSpec,
    rows: pl.DataFrame,
    change: Change,
    held: _Held,
    by: str,
    at_utc: datetime,
) -> _Done:
    existing = held.rows(con, spec, rows.select(spec.key))
    diff = diff_rows(spec, rows.sort(spec.key), existing, from_file=change.from_file)
    if not diff.new.is_empty():
        diff = _placed(held.next_position(con, spec), spec, _counted_on(con, spec, diff) if held.any_left else diff)
    for old, new in ((None, diff.new), (diff.before, diff.after)):
        if not new.is_empty():
            tables.put_rows(con, spec, new, replace=old is not None)
            seq = journal.next_seq(con)
            journal.note(con, journal.entries(spec, old, new, by=by, at_utc=at_utc, first_seq=seq))
    return _Done(spec.name, diff, _conflicts(con, spec, diff.stale))


def _counted_on(con: duckdb.DuckDBPyConnection, spec: TableSpec, diff: RowDiff) -> RowDiff:
    """New rows that were here before and were taken out count their versions on."""
    before = journal.last_versions(con, spec, diff.new)
    joined = diff.new.join(before, on=spec.key, how="left", maintain_order="left")
    new = joined.with_columns(pl.col(journal.VERSION) + pl.col("last_version").fill_null(0)).drop("last_version")
    return RowDiff(new, diff.before, diff.after, diff.same, diff.stale)


def _placed(first: int, spec: TableSpec, diff: RowDiff) -> RowDiff:
    """New rows come after all others, from position `first` on: rows of a file in its order, others in that of their
    numbers.
    """
    numbered = diff.new.with_columns(_in_file=pl.col(SOURCE_ROW)).with_row_index("_line")
    typed = numbered.filter(pl.col(SOURCE_ROW).is_null())
    by_number = natsorted(typed["_line"], key=lambda line: "/".join(map(str, diff.new.select(spec.key).row(line))))
    ranks = pl.DataFrame({"_line": by_number, "_rank": range(len(by_number))}, schema_overrides={"_line": pl.UInt32})
    ordered = numbered.join(ranks, on="_line", how="left").sort(
        "_in_file", "_rank", nulls_last=True, maintain_order=True
    )
    placed = ordered.with_columns(pl.int_range(first, pl.len() + first).alias(ENTRY_NO)).sort("_line")
    return RowDiff(placed.select(diff.new.columns), diff.before, diff.after, diff.same, diff.stale)


def _conflicts(con: duckdb.DuckDBPyConnection, spec: TableSpec, stale: pl.DataFrame) -> pl.DataFrame:
    if stale.is_empty():
        return pl.DataFrame(schema=CONFLICTS)
    keyed = stale.with_columns(key=journal.row_number(spec), record=pl.lit(spec.name))
    last = journal.last_changes(con, spec.name, keyed.select(pl.col("key").alias(journal.OF_ROW)).unique())
    return keyed.join(last, left_on="key", right_on=journal.OF_ROW, how="left").select(CONFLICTS.names())


def _summary(done: list[_Done], read_in: Mapping[str, tuple[int, int]]) -> Written:
    added = {d.record: d.diff.new.height for d in done}
    unchanged = {d.record: d.diff.same for d in done}
    if read_in:
        added[readings.SPEC.name] = sum(new for new, _ in read_in.values())
        unchanged[readings.SPEC.name] = sum(same for _, same in read_in.values())
    changed = {d.record: d.diff.after.height for d in done}
    conflicts = pl.concat([pl.DataFrame(schema=CONFLICTS), *(d.conflicts for d in done)])
    return Written(added, changed, unchanged, conflicts, read_in)
