"""The journal: who changed what, when, from what to what; and the records it gives back when replayed."""

import json
from collections.abc import Mapping
from datetime import datetime

import duckdb
import polars as pl

from collection.snapshot import NOT_IN_SNAPSHOT, kept_schema
from schemas.tables import RECORDS, TableSpec

SPEC = RECORDS["journal"]
SEQ, AT, BY, OF_RECORD, OF_ROW, ACTION, BEFORE, AFTER = (c.name for c in SPEC.columns)
ADDED, CHANGED, READ_IN = "added", "changed", "read in"


def entries(
    spec: TableSpec, old: pl.DataFrame | None, new: pl.DataFrame, *, by: str, at_utc: datetime, first_seq: int
) -> pl.DataFrame:
    """One journal row for each row of `new`, with only the columns that differ from `old` (None: added rows)."""
    names = [n for n in kept_schema(spec) if n != "row_version"]
    rows = new if old is None else pl.concat([new, old.rename({n: f"old_{n}" for n in old.columns})], how="horizontal")
    differs = {n: pl.col(n).is_not_null() if old is None else pl.col(n).ne_missing(pl.col(f"old_{n}")) for n in names}
    values = {
        SEQ: pl.int_range(first_seq, first_seq + new.height, dtype=pl.Int64),
        AT: pl.lit(at_utc, pl.Datetime("us")),
        BY: pl.lit(by),
        OF_RECORD: pl.lit(spec.name),
        OF_ROW: row_number(spec),
        ACTION: pl.lit(ADDED if old is None else CHANGED),
        BEFORE: pl.lit(None, pl.String) if old is None else _json(differs, "old_"),
        AFTER: _json(differs, ""),
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
    con.register("entries", rows)
    con.execute(f"INSERT INTO {SPEC.name} BY NAME SELECT * FROM entries")
    con.unregister("entries")


def last_changes(con: duckdb.DuckDBPyConnection, record: str, row_keys: pl.DataFrame) -> pl.DataFrame:
    """Who changed these rows last, and when, as text. `row_keys` has the one column of row numbers."""
    con.register("asked", row_keys)
    found: pl.DataFrame = con.sql(
        f"SELECT {OF_ROW}, arg_max({BY}, {SEQ}) AS {BY}, max({AT})::VARCHAR AS {AT} FROM {SPEC.name} "
        f"SEMI JOIN asked USING ({OF_ROW}) WHERE {OF_RECORD} = ? GROUP BY {OF_ROW}",
        params=[record],
    ).pl()
    con.unregister("asked")
    return found


def replay(journal: pl.DataFrame) -> Mapping[str, pl.DataFrame]:
    """The records as the journal tells them, from an empty store on; schema `kept_schema` of each record."""
    rows: dict[str, dict[str, dict[str, object]]] = {name: {} for name in RECORDS if name not in NOT_IN_SNAPSHOT}
    for name, key, action, after in journal.sort(SEQ).select(OF_RECORD, OF_ROW, ACTION, AFTER).iter_rows():
        if action != READ_IN:
            row = rows[name].setdefault(key, {"row_version": 0})
            row |= json.loads(after)
            row["row_version"] = int(str(row["row_version"])) + 1
    return {name: _frame(RECORDS[name], list(kept.values())) for name, kept in rows.items()}


def _json(differs: Mapping[str, pl.Expr], prefix: str) -> pl.Expr:
    """A JSON object of the columns that differ."""
    pairs = [
        pl.when(differ).then(pl.struct(pl.col(f"{prefix}{n}").alias(n)).struct.json_encode().str.slice(1).str.head(-1))
        for n, differ in differs.items()
    ]
    return pl.format("{{{}}}", pl.concat_str(pairs, separator=",", ignore_nulls=True))


def _frame(spec: TableSpec, rows: list[dict[str, object]]) -> pl.DataFrame:
    schema = kept_schema(spec)
    lines = pl.Series([json.dumps(row, ensure_ascii=False) for row in rows], dtype=pl.String)
    as_text = {n: t if not t.is_temporal() and not t.is_decimal() else pl.String() for n, t in schema.items()}
    frame = lines.str.json_decode(pl.Struct(as_text)).struct.unnest() if rows else pl.DataFrame(schema=as_text)
    return frame.select(_typed(n, t) for n, t in schema.items()).sort(spec.key)


def _typed(name: str, dtype: pl.DataType) -> pl.Expr:
    text = pl.col(name)
    if dtype == pl.Date:
        return text.str.to_date("%Y-%m-%d")
    if dtype.is_temporal():
        return text.str.to_datetime("%Y-%m-%d %H:%M:%S%.f", time_unit="us")
    return text.cast(dtype)
