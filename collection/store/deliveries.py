"""Deliveries: what came in with one intake, as a row that names the stretch of the journal it wrote."""

import json
from datetime import date, datetime

import duckdb
import polars as pl

from collection.snapshot import ENTRY_NO, stored_schema
from collection.store import journal, tables
from collection.store.change import DeliveryNote, Written
from collection.store.exchange import fetch
from schemas.errors import NotFound, WrongUsage
from schemas.tables import RECORDS

SPEC = RECORDS["delivery"]
NUMBER, MADE_AT, MADE_BY, FILES, COUNTS, FIRST, LAST, UNDONE_ON, UNDONE_BY, NOT_READ = (c.name for c in SPEC.columns)


def note(
    con: duckdb.DuckDBPyConnection, came: DeliveryNote, written: Written, first_seq: int, *, by: str, at_utc: datetime
) -> str | None:
    """Write the row of a delivery whose journal begins at `first_seq`; its number, None where it wrote nothing."""
    last_seq = journal.next_seq(con) - 1
    if last_seq < first_seq:
        return None
    ((before,),) = con.sql(f"SELECT count(*) FROM {SPEC.name}").fetchall()
    row = {
        NUMBER: f"D{before + 1}",
        MADE_AT: at_utc,
        MADE_BY: by,
        FILES: json.dumps(list(came.files), ensure_ascii=False),
        COUNTS: json.dumps(dict(came.counts) or _counts(written), ensure_ascii=False),
        FIRST: first_seq,
        LAST: last_seq,
        NOT_READ: json.dumps(dict(came.not_read), ensure_ascii=False) if came.not_read else None,
        journal.VERSION: 1,
        "set_here": [],
        ENTRY_NO: before + 1,
    }
    schema = stored_schema(SPEC)
    frame = pl.DataFrame({n: [row.get(n)] for n in schema}, schema=schema)
    tables.put_rows(con, SPEC, frame, replace=False)
    journal.note(con, journal.entries(SPEC, None, frame, by=by, at_utc=at_utc, first_seq=last_seq + 1))
    return str(row[NUMBER])


def _counts(written: Written) -> dict[str, dict[str, int]]:
    kinds = {"new": written.added, "changed": written.changed, "unchanged": written.unchanged}
    records = [n for n in RECORDS if any(n in counted for counted in kinds.values())]
    return {n: {kind: counted.get(n, 0) for kind, counted in kinds.items()} for n in records}


def chosen(con: duckdb.DuckDBPyConnection, delivery_id: str | None) -> pl.DataFrame:
    """The row of the delivery named, or of the last one that was not undone.

    Raises NotFound; WrongUsage where it was undone already.
    """
    listed = tables.read_table(con, SPEC).sort(FIRST)
    if delivery_id is None:
        open_ones = listed.filter(pl.col(UNDONE_ON).is_null())
        if open_ones.is_empty():
            raise NotFound("undo", "there is no delivery to undo", "", "See `enamels deliveries`.")
        return open_ones.tail(1)
    named = listed.filter(pl.col(NUMBER).str.to_lowercase() == delivery_id.lower())
    if named.is_empty():
        raise NotFound(delivery_id, "there is no delivery of this number", "", "See `enamels deliveries`.")
    if named[UNDONE_ON][0] is not None:
        what = f"it was undone on {named[UNDONE_ON][0]} by {named[UNDONE_BY][0]}"
        raise WrongUsage(delivery_id, what, "a delivery that stands", "See `enamels deliveries`.")
    return named


def changes_of(con: duckdb.DuckDBPyConnection, delivery_id: str) -> pl.DataFrame:
    """Journal entries of rows that a delivery changed, in order. Raises NotFound."""
    listed = tables.read_table(con, SPEC).filter(pl.col(NUMBER) == delivery_id)
    if listed.is_empty():
        raise NotFound(delivery_id, "there is no delivery of this number", "", "See `enamels deliveries`.")
    stretch = [*listed.select(FIRST, LAST).row(0), journal.CHANGED]
    where = f"{journal.SEQ} BETWEEN ? AND ? AND {journal.ACTION} = ? ORDER BY {journal.SEQ}"
    columns = ", ".join(journal.SPEC.schema())
    return fetch(con, f"SELECT {columns} FROM {journal.SPEC.name} WHERE {where}", stretch)


def mark_undone(
    con: duckdb.DuckDBPyConnection, delivery: pl.DataFrame, day: date, *, by: str, at_utc: datetime
) -> None:
    """Say in the row of a delivery that it was undone, when and by whom; journalled."""
    after = delivery.with_columns(
        pl.col(journal.VERSION) + 1, pl.lit(day).alias(UNDONE_ON), pl.lit(by).alias(UNDONE_BY)
    )
    tables.put_rows(con, SPEC, after, replace=True)
    seq = journal.next_seq(con)
    journal.note(con, journal.entries(SPEC, delivery, after, by=by, at_utc=at_utc, first_seq=seq))
