"""SQL for the tables, derived from the declarations; no column is named here."""

from collections.abc import Iterable, Mapping

import duckdb
import polars as pl

from collection.snapshot import NOT_IN_SNAPSHOT, kept_schema
from schemas.errors import StoreDamaged, StoreEmpty, StoreTooNew
from schemas.tables import RECORDS, TableSpec

# Raised by one with each change of the schema; a migration goes with it.
SCHEMA_VERSION = 1

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


def create_table(spec: TableSpec) -> str:
    """The statement that makes the table of a record; names are never quoted."""
    columns = [f"{name} {SQL_TYPES[dtype]}" for name, dtype in kept_schema(spec).items()]
    key = [] if spec.name in WITHOUT_KEY else [f"PRIMARY KEY ({', '.join(spec.key)})"]
    return f"CREATE TABLE IF NOT EXISTS {spec.name} ({', '.join([*columns, *key])})"


def create_all(con: duckdb.DuckDBPyConnection) -> None:
    """Make every table of an empty file, and note the schema version in it."""
    con.execute("CREATE TABLE IF NOT EXISTS about (schema_version BIGINT)")
    con.execute("INSERT INTO about SELECT ? WHERE NOT EXISTS (FROM about)", [SCHEMA_VERSION])
    for spec in RECORDS.values():
        con.execute(create_table(spec))


def require_version(con: duckdb.DuckDBPyConnection, where: str) -> None:
    """Raise StoreTooNew for a store of a later schema, StoreDamaged for a DuckDB file that is no store."""
    if not con.sql("SHOW TABLES").fetchall():  # a process was killed before its first write was done
        raise StoreEmpty(where, "there is no store here yet", "", "Bring in a catalogue with `enamels intake FILE`.")
    try:
        ((found,),) = con.sql("FROM about").fetchall()
    except duckdb.CatalogException:
        raise StoreDamaged(
            where, "this file is not an Enamel Register store", "", "Name another file with --store."
        ) from None
    if found > SCHEMA_VERSION:
        what = f"the store was written by a later Enamel Register (schema {found}, this one reads {SCHEMA_VERSION})"
        raise StoreTooNew(where, what, "", "Update Enamel Register.")


def read_table(con: duckdb.DuckDBPyConnection, spec: TableSpec) -> pl.DataFrame:
    """All rows of a record in order of their key."""
    frame: pl.DataFrame = con.sql(f"FROM {spec.name} ORDER BY {', '.join(spec.key)}").pl()
    return frame.select(pl.col(n).cast(t) for n, t in kept_schema(spec).items())


def read_rows(con: duckdb.DuckDBPyConnection, spec: TableSpec, keys: pl.DataFrame) -> pl.DataFrame:
    """Rows of a record with these keys."""
    con.register("wanted", keys)
    frame: pl.DataFrame = con.sql(f"SELECT t.* FROM {spec.name} t SEMI JOIN wanted USING ({', '.join(spec.key)})").pl()
    con.unregister("wanted")
    return frame.select(pl.col(n).cast(t) for n, t in kept_schema(spec).items())


def put_rows(con: duckdb.DuckDBPyConnection, spec: TableSpec, rows: pl.DataFrame, *, replace: bool) -> None:
    """Write whole rows of a record."""
    con.register("incoming", rows.select(kept_schema(spec).names()))
    verb = "INSERT OR REPLACE" if replace else "INSERT"
    con.execute(f"{verb} INTO {spec.name} BY NAME SELECT * FROM incoming")
    con.unregister("incoming")


def read_collection(
    con: duckdb.DuckDBPyConnection, apart: Iterable[str] = NOT_IN_SNAPSHOT
) -> Mapping[str, pl.DataFrame]:
    """Every record but those kept apart, in one transaction."""
    con.begin()
    frames = {name: read_table(con, spec) for name, spec in RECORDS.items() if name not in apart}
    con.commit()
    return frames
