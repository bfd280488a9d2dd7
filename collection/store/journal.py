"""The journal: who changed what, when, from what to what; and the records it gives back when replayed."""

import json
import re
from collections.abc import Mapping
from datetime import datetime

import duckdb
import polars as pl

from collection.snapshot import NOT_IN_SNAPSHOT, stored_schema
from collection.store.exchange import fetch, registered
from schemas.tables import RECORDS, TableSpec

SPEC = RECORDS["journal"]
SEQ, AT, BY, OF_RECORD, OF_ROW, ACTION, BEFORE, AFTER = (c.name for c in SPEC.columns)
ADDED, CHANGED, READ_IN = "added", "changed", "read in"
# What an undo does: a row leaves its table, or gets its former values back.
REMOVED, PUT_BACK = "taken out", "put back"
VERSION = "row_version"


def entries(
    spec: TableSpec,
    old: pl.DataFrame | None,
    new: pl.DataFrame,
    *,
    by: str,
    at_utc: datetime,
    first_seq: int,
    action: str | None = None,
) -> pl.DataFrame:
    """One journal row for each row of `new`, with only the columns that differ from `old` (None: added rows)."""
    names = [n for n in stored_schema(spec) if n != VERSION]
    rows = new if old is None else pl.concat([new, old.rename({n: f"old_{n}" for n in old.columns})], how="horizontal")
    differs = {n: pl.col(n).is_not_null() if old is None else pl.col(n).ne_missing(pl.col(f"old_{n}")) for n in names}
    before = pl.lit(None, pl.String) if old is None else _json(differs, "old_")
    named = action or (ADDED if old is None else CHANGED)
    return _rows(spec, rows, before, _json(differs, ""), named, by=by, at_utc=at_utc, first_seq=first_seq)


def departures(spec: TableSpec, rows: pl.DataFrame, *, by: str, at_utc: datetime, first_seq: int) -> pl.DataFrame:
    """One journal row for each whole row that leaves its table, with all it held, its version too."""
    held = _json({n: pl.col(n).is_not_null() for n in stored_schema(spec)}, "")
    nothing = pl.lit(None, pl.String)
    return _rows(spec, rows, held, nothing, REMOVED, by=by, at_utc=at_utc, first_seq=first_seq)


def _rows(
    spec: TableSpec,
    rows: pl.DataFrame,
    before: pl.Expr,
    after: pl.Expr,
    action: str,
    *,
    by: str,
    at_utc: datetime,
    first_seq: int,
) -> pl.DataFrame:
    values = {
        SEQ: pl.int_range(first_seq, first_seq + rows.height, dtype=pl.Int64),
        AT: pl.lit(at_utc, pl.Datetime("us")),
        BY: pl.lit(by),
        OF_RECORD: pl.lit(spec.name),
        OF_ROW: row_number(spec),
        ACTION: pl.lit(action),
        BEFORE: before,
        AFTER: after,
    }
    return rows.select(value.alias(name) for name, value in values.items())


def row_number(spec: TableSpec) -> pl.Expr:
    """The key of a row as JSON."""
    return pl.struct(spec.key).struct.json_encode()


def next_seq(con: duckdb.DuckDBPyConnection) -> int:
    """Number of the next change."""
    ((last,),) = con.sql(f"SELECT coalesce(max({SEQ}), 0) FROM {SPEC.name}").fetchall()
    return int(last) + 1


def note(con: duckdb.DuckDBPyConnection, rows: pl.DataFrame) -> None:
    """Write journal rows."""
    with registered(con, entries=rows):
        con.execute(f"INSERT INTO {SPEC.name} BY NAME SELECT * FROM entries")


def last_changes(con: duckdb.DuckDBPyConnection, record: str, row_keys: pl.DataFrame) -> pl.DataFrame:
    """Who changed these rows last, and when, as text. `row_keys` has the one column of row numbers."""
    changes = (
        f"SELECT {OF_ROW}, arg_max({BY}, {SEQ}) AS {BY}, max({AT})::VARCHAR AS {AT} FROM {SPEC.name} "
        f"SEMI JOIN asked USING ({OF_ROW}) WHERE {OF_RECORD} = ? GROUP BY {OF_ROW}"
    )
    with registered(con, asked=row_keys):
        return fetch(con, changes, [record])


def read(
    con: duckdb.DuckDBPyConnection, *, last: int | None = None, record: str | None = None, number: str | None = None
) -> tuple[pl.DataFrame, int]:
    """The `last` changes (None: all) of a record, of rows with a number, in order; and how many there are in all.

    Columns of record `journal`. `number` is compared with each value of a row's key.
    """
    asked, values = ["true"], list[object]()
    if record is not None:
        asked.append(f"{OF_RECORD} = ?")
        values.append(record)
    if number is not None:  # the key is JSON: a value stands behind a colon, before a comma or the end
        value = re.escape(json.dumps(number, ensure_ascii=False))
        asked.append(f"(contains({OF_ROW}, ?) AND regexp_matches({OF_ROW}, ?))")
        values += [json.dumps(number, ensure_ascii=False), f":\\s*{value}[,}}]"]
    where = f"FROM {SPEC.name} WHERE {' AND '.join(asked)}"
    ((count,),) = con.sql(f"SELECT count(*) {where}", params=values).fetchall()
    limit = "" if last is None else f"LIMIT {int(last)}"
    columns = ", ".join(SPEC.schema())
    frame = fetch(con, f"SELECT {columns} {where} ORDER BY {SEQ} DESC {limit}", values).reverse()
    return frame.select(pl.col(n).cast(t) for n, t in SPEC.schema().items()), count


def any_left(con: duckdb.DuckDBPyConnection) -> bool:
    """Some row was taken out of its table."""
    return bool(con.sql(f"FROM {SPEC.name} WHERE {ACTION} = ? LIMIT 1", params=[REMOVED]).fetchall())


def last_versions(con: duckdb.DuckDBPyConnection, spec: TableSpec, rows: pl.DataFrame) -> pl.DataFrame:
    """The versions that rows of these keys had when they left the table: key columns, `last_version`.

    A row that comes in again counts on from there, so that a writer who knew the former one is told.
    """
    keyed = rows.select(*spec.key, row_number(spec).alias(OF_ROW))
    last = (
        f"SELECT {OF_ROW}, {BEFORE} FROM {SPEC.name} SEMI JOIN asked USING ({OF_ROW}) "
        f"WHERE {OF_RECORD} = ? AND {ACTION} = ?"
    )
    with registered(con, asked=keyed.select(OF_ROW)):
        held = fetch(con, last, [spec.name, REMOVED])
    version = pl.col(BEFORE).str.json_path_match(f"$.{VERSION}").cast(pl.Int64).max().alias("last_version")
    return keyed.join(held.group_by(OF_ROW).agg(version), on=OF_ROW).drop(OF_ROW)


def keys_of(spec: TableSpec, row_keys: pl.Series) -> pl.DataFrame:
    """The key columns that row numbers stand for, in the order given."""
    schema = {k: spec.schema()[k] for k in spec.key}
    return _decoded(row_keys, schema)


def values_of(spec: TableSpec, texts: pl.Series) -> pl.DataFrame:
    """What a side of journal rows says of each column; schema `kept_schema`, null where it says nothing."""
    return _decoded(texts, stored_schema(spec))


def _decoded(texts: pl.Series, schema: Mapping[str, pl.DataType]) -> pl.DataFrame:
    as_text = {n: t if not t.is_temporal() and not t.is_decimal() else pl.String() for n, t in schema.items()}
    if texts.is_empty():
        return pl.DataFrame(schema=schema)
    frame = texts.str.json_decode(pl.Struct(as_text)).struct.unnest()
    return frame.select(_typed(n, t) for n, t in schema.items())


def replay(journal: pl.DataFrame) -> Mapping[str, pl.DataFrame]:
    """The records as the journal tells them, from an empty store on; schema `kept_schema` of each record."""
    rows: dict[str, dict[str, dict[str, object]]] = {name: {} for name in RECORDS if name not in NOT_IN_SNAPSHOT}
    versions: dict[tuple[str, str], int] = {}  # of rows that left
    listed = journal.sort(SEQ).filter(pl.col(ACTION) != READ_IN, pl.col(OF_RECORD).is_in(list(rows)))
    for name, key, action, after in listed.select(OF_RECORD, OF_ROW, ACTION, AFTER).iter_rows():
        if action == REMOVED:
            versions[name, key] = int(str(rows[name].pop(key)[VERSION]))
            continue
        row = rows[name].setdefault(key, {VERSION: versions.get((name, key), 0)})
        row |= json.loads(after)
        row[VERSION] = int(str(row[VERSION])) + 1
    return {name: _frame(RECORDS[name], list(held.values())) for name, held in rows.items()}


def _json(differs: Mapping[str, pl.Expr], prefix: str) -> pl.Expr:
    """A JSON object of the columns that differ."""
    pairs = [
        pl.when(differ).then(pl.struct(pl.col(f"{prefix}{n}").alias(n)).struct.json_encode().str.slice(1).str.head(-1))
        for n, differ in differs.items()
    ]
    return pl.format("{{{}}}", pl.concat_str(pairs, separator=",", ignore_nulls=True))


def _frame(spec: TableSpec, rows: list[dict[str, object]]) -> pl.DataFrame:
    lines = pl.Series([json.dumps(row, ensure_ascii=False) for row in rows], dtype=pl.String)
    return _decoded(lines, stored_schema(spec)).sort(spec.key)


def _typed(name: str, dtype: pl.DataType) -> pl.Expr:
    text = pl.col(name)
    if dtype == pl.Date:
        return text.str.to_date("%Y-%m-%d")
    if dtype.is_temporal():
        return text.str.to_datetime("%Y-%m-%d %H:%M:%S%.f", time_unit="us")
    return text.cast(dtype)
