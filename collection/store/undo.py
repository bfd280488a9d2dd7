"""Taking back a delivery: its stretch of the journal reversed, unless later changes stand on it."""

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

import duckdb
import polars as pl

from collection.snapshot import NOT_IN_SNAPSHOT, stored_schema
from collection.store import deliveries, gaps, journal, readings, tables
from collection.store.exchange import fetch, registered
from collection.store.journal import ACTION, ADDED, AT, BEFORE, BY, CHANGED, OF_RECORD, OF_ROW, READ_IN, SEQ
from schemas.fields import ForeignKey
from schemas.records.catalogue import WHOLE_COLUMN
from schemas.tables import RECORDS, TableSpec

STANDING = pl.Schema({n: pl.String() for n in (OF_RECORD, OF_ROW, BY, AT)})


@dataclass(frozen=True)
class Undone:
    """Rows by record that left their table and rows that got their former values back.

    `standing` (schema `STANDING`): rows that were changed later, or that point to rows of the delivery, with who wrote
    them last and when (UTC). Where there is one, nothing was done.
    """

    delivery_id: str
    removed: Mapping[str, int] = field(default_factory=dict)
    put_back: Mapping[str, int] = field(default_factory=dict)
    standing: pl.DataFrame = field(default_factory=lambda: pl.DataFrame(schema=STANDING))


def undo(con: duckdb.DuckDBPyConnection, delivery: pl.DataFrame, *, by: str, at_utc: datetime) -> Undone:
    """Reverse the journal of one delivery (a row of record `delivery`) in the transaction of the caller."""
    number, first, last = delivery.select(deliveries.NUMBER, deliveries.FIRST, deliveries.LAST).row(0)
    entries = fetch(con, f"FROM {journal.SPEC.name} WHERE {SEQ} BETWEEN ? AND ? ORDER BY {SEQ}", [first, last])
    mine = entries.filter(pl.col(OF_RECORD) != gaps.SPEC.name)  # found anew in the readings that stay
    standing = pl.concat([_changed_later(con, mine, last), *_pointing(con, mine)]).unique(maintain_order=True)
    if not standing.is_empty():
        return Undone(number, standing=standing)
    removed: dict[str, int] = {}
    put_back: dict[str, int] = {}
    for name in [n for n in RECORDS if n not in NOT_IN_SNAPSHOT]:
        rows = mine.filter(pl.col(OF_RECORD) == name)
        if not rows.is_empty():
            removed[name] = _take_out(con, RECORDS[name], rows.filter(pl.col(ACTION) == ADDED), by, at_utc)
            put_back[name] = _put_back(con, RECORDS[name], rows.filter(pl.col(ACTION) == CHANGED), by, at_utc)
    for entry in mine.filter(pl.col(ACTION) == READ_IN).iter_rows(named=True):
        count = readings.take_out(con, entry, by=by, at_utc=at_utc)
        removed[readings.SPEC.name] = removed.get(readings.SPEC.name, 0) + count
    deliveries.mark_undone(con, delivery, at_utc.date(), by=by, at_utc=at_utc)
    return Undone(number, _some(removed), _some(put_back))


def _some(counted: Mapping[str, int]) -> Mapping[str, int]:
    return {name: count for name, count in counted.items() if count}


def _changed_later(con: duckdb.DuckDBPyConnection, mine: pl.DataFrame, last: int) -> pl.DataFrame:
    """Rows of the delivery that were changed after it; changes of deliveries that were undone no longer stand."""
    undone = f"d.{deliveries.UNDONE_ON} IS NOT NULL AND j.{SEQ} BETWEEN d.{deliveries.FIRST} AND d.{deliveries.LAST}"
    changes = (
        f"SELECT {OF_RECORD}, {OF_ROW}, arg_max({BY}, {SEQ}) AS {BY}, max({AT})::VARCHAR AS {AT} "
        f"FROM {journal.SPEC.name} j SEMI JOIN mine USING ({OF_RECORD}, {OF_ROW}) "
        f"WHERE {SEQ} > ? AND {ACTION} IN (?, ?) AND NOT EXISTS (FROM {deliveries.SPEC.name} d WHERE {undone}) "
        f"GROUP BY {OF_RECORD}, {OF_ROW} ORDER BY {OF_RECORD}, {OF_ROW}"
    )
    with registered(con, mine=mine.select(OF_RECORD, OF_ROW)):
        later = fetch(con, changes, [last, ADDED, CHANGED])
    return later.select(pl.col(n).cast(t) for n, t in STANDING.items())


def _pointing(con: duckdb.DuckDBPyConnection, mine: pl.DataFrame) -> list[pl.DataFrame]:
    """Rows outside the delivery that point to a row it added."""
    standing = []
    for name in mine.filter(pl.col(ACTION) == ADDED)[OF_RECORD].unique(maintain_order=True):
        spec = RECORDS[name]
        rows = mine.filter((pl.col(OF_RECORD) == name) & (pl.col(ACTION) == ADDED))
        keys = journal.keys_of(spec, rows[OF_ROW])
        for other in RECORDS.values():
            for theirs, ours in _links(other, spec):
                standing.append(_outside(con, other, theirs, keys.select(ours), mine))
    return standing


def _links(other: TableSpec, spec: TableSpec) -> list[tuple[list[str], list[str]]]:
    """Columns of `other` that name a row of `spec`, and the key columns they name: foreign keys, and named parts."""
    single = [c.name for c in other.marked(ForeignKey) if (p := c.mark(ForeignKey)) and p.record == spec.name]
    links = [([name], [spec.key[0]]) for name in single if len(spec.key) == 1 and other.name not in NOT_IN_SNAPSHOT]
    if WHOLE_COLUMN in spec.key and other.name != spec.name and set(spec.key) <= set(other.schema()):
        links.append((list(spec.key), list(spec.key)))
    return links


def _outside(
    con: duckdb.DuckDBPyConnection, other: TableSpec, theirs: list[str], keys: pl.DataFrame, mine: pl.DataFrame
) -> pl.DataFrame:
    same = " AND ".join(f"t.{one} = leaving.{two}" for one, two in zip(theirs, keys.columns, strict=True))
    with registered(con, leaving=keys):
        rows = fetch(con, f"SELECT {', '.join(other.key)} FROM {other.name} t WHERE EXISTS (FROM leaving WHERE {same})")
    numbers = rows.select(journal.row_number(other).alias(OF_ROW))
    own = mine.filter(pl.col(OF_RECORD) == other.name).select(OF_ROW)
    outside = numbers.join(own, on=OF_ROW, how="anti", maintain_order="left")
    if outside.is_empty():
        return pl.DataFrame(schema=STANDING)
    last = journal.last_changes(con, other.name, outside)
    named: pl.DataFrame = outside.join(last, on=OF_ROW, how="left", maintain_order="left").with_columns(
        pl.lit(other.name).alias(OF_RECORD)
    )
    return named.select(STANDING.names())


def _take_out(con: duckdb.DuckDBPyConnection, spec: TableSpec, rows: pl.DataFrame, by: str, at_utc: datetime) -> int:
    if rows.is_empty():
        return 0
    whole = tables.read_rows(con, spec, journal.keys_of(spec, rows[OF_ROW])).sort(spec.key)
    seq = journal.next_seq(con)
    journal.note(con, journal.departures(spec, whole, by=by, at_utc=at_utc, first_seq=seq))
    tables.drop_rows(con, spec, whole)
    return whole.height


def _put_back(con: duckdb.DuckDBPyConnection, spec: TableSpec, rows: pl.DataFrame, by: str, at_utc: datetime) -> int:
    """The versions count on, so that who saw the values taken back cannot write over those put back unnoticed."""
    if rows.is_empty():
        return 0
    keys = journal.keys_of(spec, rows[OF_ROW])
    now = keys.join(tables.read_rows(con, spec, keys), on=spec.key, maintain_order="left")
    former = _with_former(spec, now.select(stored_schema(spec).names()), rows[BEFORE])
    tables.put_rows(con, spec, former, replace=True)
    seq = journal.next_seq(con)
    new = journal.entries(
        spec, now.select(former.columns), former, by=by, at_utc=at_utc, first_seq=seq, action=journal.PUT_BACK
    )
    journal.note(con, new)
    return former.height


def _with_former(spec: TableSpec, now: pl.DataFrame, before: pl.Series) -> pl.DataFrame:
    former = journal.values_of(spec, before).rename(lambda n: f"former_{n}")
    touched = pl.Series("touched", [list(json.loads(text)) for text in before], dtype=pl.List(pl.String))
    both = pl.concat([now, former], how="horizontal").with_columns(touched)
    values = [
        pl.when(pl.col("touched").list.contains(n)).then(pl.col(f"former_{n}")).otherwise(pl.col(n)).alias(n)
        for n in now.columns
        if n not in (*spec.key, journal.VERSION)
    ]
    return both.with_columns(*values, pl.col(journal.VERSION) + 1).select(now.columns)
