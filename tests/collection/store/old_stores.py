"""Stores of older schemas: their layout, their rows, and the migrations they are taken through."""

from datetime import datetime
from pathlib import Path

import duckdb

from collection.store.migrations import MIGRATIONS

NOON = datetime(2026, 5, 1, 12)
Layout = dict[str, dict[str, tuple[str, bool]]]  # of each table: columns with type, and whether of the key
V1 = {"storage_compatibility_version": "v1.4.0"}


def through(path: Path, *schemas: int) -> None:
    """Take a store through the migrations to these schemas, and no further."""
    with duckdb.connect(str(path), config=V1) as con:
        for schema in schemas:
            MIGRATIONS[schema].change_layout(con)
            MIGRATIONS[schema].change_rows(con, NOON)
            con.execute("UPDATE about SET schema_version = ?", [schema])


def shapes(path: Path) -> Layout:
    """Columns, types and keys of every table."""
    with duckdb.connect(str(path), read_only=True, config=V1) as con:
        rows = con.sql("SELECT table_name, column_name, data_type FROM duckdb_columns() WHERE NOT internal").fetchall()
        keys = con.sql(
            "SELECT table_name, constraint_column_names FROM duckdb_constraints() WHERE constraint_type = 'PRIMARY KEY'"
        ).fetchall()
    keyed = {(table, name) for table, names in keys for name in names}
    shape: Layout = {}
    for table, name, kind in rows:
        shape.setdefault(table, {})[name] = (kind, (table, name) in keyed)
    return shape


def columns(layout: Layout) -> dict[str, tuple[str, bool]]:
    """Type and key of each column, by table and name."""
    return {f"{table}.{name}": kind for table, named in layout.items() for name, kind in named.items()}


def rows_of(path: Path) -> dict[str, list[dict[str, object]]]:
    """Every table as DuckDB alone reads it."""
    with duckdb.connect(str(path), read_only=True, config=V1) as con:
        names = [n for (n,) in con.sql("SHOW TABLES").fetchall()]
        return {n: con.sql(f"FROM {n} ORDER BY ALL").pl().to_dicts() for n in names}
