"""SQL for the tables, derived from the declarations; no column is named here."""

import uuid
from collections.abc import Iterable, Mapping

import duckdb
import polars as pl

from collection.snapshot import ENTRY_NO, NOT_IN_SNAPSHOT, empty_rows, stored_schema
from collection.store.exchange import fetch, registered
from schemas.errors import StoreDamaged, StoreEmpty, StoreTooNew
from schemas.tables import RECORDS, TableSpec

# Raised by one with each change of the schema; a module of `collection/store/migrations` goes with it.
SCHEMA_VERSION = 9

SQL_TYPES: Mapping[pl.DataType, str] = {
    pl.String(): "VARCHAR",
    pl.Int64(): "BIGINT",
    pl.Float64(): "DOUBLE",
    pl.Boolean(): "BOOLEAN",
    pl.Date(): "DATE",
    pl.Datetime("us"): "TIMESTAMP",
    pl.Decimal(18, 2): "DECIMAL(18, 2)",
    pl.List(pl.String()): "VARCHAR[]",
}
# A primary key over years of readings would cost more than it guards: duplicates are refused as they come in.
WITHOUT_KEY = ("climate_reading",)
# What the file says of itself. `store_id` tells one store from another; a copy has that of the store it was taken of,
# and says in `copied_at` that it is a copy.
ABOUT = "about"
HERE = "WHERE database_name = current_database() AND schema_name = 'main'"
ABOUT_COLUMNS = "schema_version BIGINT, store_id VARCHAR, copied_at TIMESTAMP"


def create_table(spec: TableSpec) -> str:
    """The statement that makes the table of a record; names are never quoted."""
    columns = [f"{name} {SQL_TYPES[dtype]}" for name, dtype in stored_schema(spec).items()]
    key = [] if spec.name in WITHOUT_KEY else [f"PRIMARY KEY ({', '.join(spec.key)})"]
    return f"CREATE TABLE IF NOT EXISTS {spec.name} ({', '.join([*columns, *key])})"


def create_all(con: duckdb.DuckDBPyConnection) -> None:
    """Make every table of an empty file, and note in it the schema version and the store it is."""
    con.execute(f"CREATE TABLE {ABOUT} ({ABOUT_COLUMNS})")
    con.execute(f"INSERT INTO {ABOUT} VALUES (?, ?, NULL)", [SCHEMA_VERSION, new_store_id()])
    for spec in RECORDS.values():
        con.execute(create_table(spec))


def new_store_id() -> str:
    """A number no other store has."""
    return uuid.uuid4().hex


def layout(con: duckdb.DuckDBPyConnection) -> Mapping[str, tuple[str, ...]]:
    """Columns by table. Views are not listed, so nothing that stands in for a table is ever followed."""
    # Two plain lists: to join them takes DuckDB longer than all else that opening a store does.
    columns: dict[str, list[str]] = {
        name: [] for (name,) in con.execute(f"SELECT table_name FROM duckdb_tables() {HERE}").fetchall()
    }
    listed = con.execute(f"SELECT table_name, column_name FROM duckdb_columns() {HERE} ORDER BY column_index")
    for name, column in listed.fetchall():
        if name in columns:
            columns[name].append(column)
    return {name: tuple(names) for name, names in columns.items()}


def schema_version(con: duckdb.DuckDBPyConnection, where: str) -> int:
    """The schema the file is written in.

    Raises StoreEmpty for a file without tables, StoreTooNew for a later schema, StoreDamaged for what is no store.
    """
    tables = layout(con)
    if not tables:  # a process was killed before its first write was done
        raise StoreEmpty(where, "there is no store here yet", "", "Bring in a catalogue with `enamels intake FILE`.")
    rows = con.execute(f"SELECT schema_version FROM {ABOUT}").fetchall() if ABOUT in tables else []
    if len(rows) != 1 or not isinstance(rows[0][0], int):
        raise StoreDamaged(where, "this is not an Enamel Register store", "", "Name another file with --store.")
    version: int = rows[0][0]
    if version > SCHEMA_VERSION:
        what = f"the store was written by a later Enamel Register (schema {version}, this one reads {SCHEMA_VERSION})"
        raise StoreTooNew(where, what, "", "Update Enamel Register.")
    if version == SCHEMA_VERSION:
        _require_layout(tables, where)
    return version


def _require_layout(tables: Mapping[str, tuple[str, ...]], where: str) -> None:
    for name, spec in RECORDS.items():
        missing = [c for c in stored_schema(spec) if c not in tables.get(name, ())]
        if missing:
            what = f"the table {name} is missing" if name not in tables else f"{name} lacks the column {missing[0]}"
            to_do = "Name another file with --store, or bring back a copy with `enamels restore COPY`."
            raise StoreDamaged(where, f"this is no whole store: {what}", "", to_do)


def read_table(con: duckdb.DuckDBPyConnection, spec: TableSpec) -> pl.DataFrame:
    """All rows of a record in order of their key; sorted here, which takes less than asking DuckDB to."""
    return typed(fetch(con, f"FROM {spec.name}"), spec).sort(spec.key)


def read_tables(con: duckdb.DuckDBPyConnection, names: Iterable[str]) -> Mapping[str, pl.DataFrame]:
    """All rows of some records, of one moment."""
    con.begin()
    return {name: read_table(con, RECORDS[name]) for name in names}


def read_rows(con: duckdb.DuckDBPyConnection, spec: TableSpec, keys: pl.DataFrame) -> pl.DataFrame:
    """Rows of a record with these keys."""
    with registered(con, wanted=keys):
        return typed(fetch(con, f"SELECT t.* FROM {spec.name} t SEMI JOIN wanted USING ({', '.join(spec.key)})"), spec)


def typed(frame: pl.DataFrame, spec: TableSpec) -> pl.DataFrame:
    """A frame of DuckDB's with the columns and types of `kept_schema`."""
    schema = stored_schema(spec)
    return frame if frame.schema == schema else frame.select(pl.col(n).cast(t) for n, t in schema.items())


def next_position(con: duckdb.DuckDBPyConnection, spec: TableSpec) -> int:
    """The position of the next new row of a record."""
    ((last,),) = con.sql(f"SELECT coalesce(max({ENTRY_NO}), 0) FROM {spec.name}").fetchall()
    return int(last) + 1


def put_rows(con: duckdb.DuckDBPyConnection, spec: TableSpec, rows: pl.DataFrame, *, replace: bool) -> None:
    """Write whole rows of a record."""
    verb = "INSERT OR REPLACE" if replace else "INSERT"
    with registered(con, incoming=rows.select(stored_schema(spec).names())):
        con.execute(f"{verb} INTO {spec.name} BY NAME SELECT * FROM incoming")


def drop_rows(con: duckdb.DuckDBPyConnection, spec: TableSpec, keys: pl.DataFrame) -> None:
    """Take rows out of the table of a record; only `undo` does, after it has journalled them."""
    same = " AND ".join(f"t.{k} = leaving.{k}" for k in spec.key)
    with registered(con, leaving=keys.select(spec.key)):
        con.execute(f"DELETE FROM {spec.name} t USING leaving WHERE {same}")


def read_collection(
    con: duckdb.DuckDBPyConnection, apart: Iterable[str] = NOT_IN_SNAPSHOT
) -> Mapping[str, pl.DataFrame]:
    """Every record but those kept apart, in one transaction."""
    con.begin()
    asked = [spec for name, spec in RECORDS.items() if name not in apart]
    filled = with_rows(con)
    frames = {s.name: read_table(con, s) if s.name in filled else empty_rows(s) for s in asked}
    con.commit()
    return frames


def with_rows(con: duckdb.DuckDBPyConnection) -> set[str]:
    """Records that hold any committed row, and perhaps some whose rows were all deleted, in one question.

    Most tables of a small store are empty, and each would take its time. DuckDB counts rows that were deleted until the
    file is tidied, and never less than there are.
    """
    listed = f"SELECT table_name FROM duckdb_tables() {HERE} AND estimated_size > 0"
    return {name for (name,) in con.execute(listed).fetchall() if name in RECORDS}
