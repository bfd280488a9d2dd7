"""The way back: a published package judged file by file, and put into an empty store."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import duckdb
import polars as pl
import pyarrow as pa
import pyarrow.csv

from collection.files import digest, read_source, require_source
from collection.snapshot import NOT_IN_SNAPSHOT, stored_schema
from collection.store import journal, tables
from collection.store.migrations import migrate_rows
from collection.store.package import BETWEEN, DESCRIPTOR, MOMENT, MOST_DESCRIPTOR_BYTES
from collection.validation.rules.row import PATH, UNSEEN_LETTERS, numbers_of
from schemas.errors import SourceRefused, WrongUsage
from schemas.tables import RECORDS, TableSpec

# Packages of the first schema do not say which they are of.
FIRST_SCHEMA = 1
LARGEST_FILE_BYTES = 2**36


@dataclass(frozen=True)
class Published:
    """A package as read: frames by record, schema `kept_schema`, and the schema version it was written in."""

    frames: Mapping[str, pl.DataFrame]
    version: int


def read(folder: Path) -> Published:
    """The records of a published package.

    Raises SourceRefused where a file is not as described, a row is not whole, a number could not have come in by
    `enamels intake`, or the journal has a gap.
    """
    descriptor = folder / DESCRIPTOR
    try:
        package = json.loads(read_source(descriptor, MOST_DESCRIPTOR_BYTES))
        version = int(package.get("schemaVersion", FIRST_SCHEMA))
        if version > tables.SCHEMA_VERSION:
            what = f"the package was written by a later Enamel Register (schema {version})"
            raise SourceRefused(str(descriptor), what, "", "Update Enamel Register.")
        frames = {r["name"]: _read_resource(RECORDS[r["name"]], folder, r, version) for r in package["resources"]}
    except (
        OSError,
        ValueError,
        KeyError,
        TypeError,
        AttributeError,
        pa.ArrowException,
        pl.exceptions.PolarsError,
    ) as error:
        what = f"the package cannot be read ({type(error).__name__}: {error})"
        raise SourceRefused(
            str(descriptor), what, "a package written by `enamels export`", "Export it again."
        ) from None
    for name, frame in frames.items():
        _judge(RECORDS[name], frame, str(folder))
    return Published(frames, version)


def counts(published: Published) -> dict[str, int]:
    """Rows by record, without climate readings and journal."""
    return {name: frame.height for name, frame in published.frames.items() if name not in NOT_IN_SNAPSHOT}


def require_empty(con: duckdb.DuckDBPyConnection, where: str) -> None:
    """Raise WrongUsage for a store that holds a row of any record."""
    if any(con.sql(f"FROM {name} LIMIT 1").fetchall() for name in RECORDS):
        raise WrongUsage(where, "the store is not empty", "an empty store", "Name a new file with --store.")


def put(con: duckdb.DuckDBPyConnection, published: Published, where: str, *, at_utc: datetime) -> None:
    """Put the rows of a package into an empty store, as they stand; those of an older schema are migrated."""
    require_empty(con, where)
    for name, frame in published.frames.items():
        tables.put_rows(con, RECORDS[name], frame, replace=False)
    migrate_rows(con, published.version, at_utc)


def _read_resource(spec: TableSpec, folder: Path, resource: Mapping[str, str], version: int) -> pl.DataFrame:
    path = folder / Path(resource["path"]).name
    require_source(path, LARGEST_FILE_BYTES)
    if f"sha256:{digest(path)}" != resource["hash"]:
        what = "the file was changed after it was exported"
        raise SourceRefused(str(path), what, "the file as exported", "Export it again.")
    schema = stored_schema(spec)
    frame = pl.read_parquet(path) if path.suffix == ".parquet" else _read_text(path)
    extra, missing = set(frame.columns) - set(schema), [n for n in schema if n not in frame.columns]
    if extra or (missing and version == tables.SCHEMA_VERSION):
        what = f"the columns are not those of the record {spec.name} ({', '.join([*sorted(extra), *missing])})"
        raise SourceRefused(str(path), what, "the columns as exported", "Export it again.")
    typed = {n: _from_text(n, t) if path.suffix != ".parquet" else pl.col(n).cast(t) for n, t in schema.items()}
    return frame.select((pl.lit(None, t) if n in missing else typed[n]).alias(n) for n, t in schema.items())


def _read_text(path: Path) -> pl.DataFrame:
    """Cells as text; a line with fewer or more cells than headings is an error. Empty is null, `""` is empty text."""
    names = pl.read_csv(path, n_rows=0, infer_schema=False).columns
    table = pa.csv.read_csv(
        path,
        parse_options=pa.csv.ParseOptions(newlines_in_values=True),
        convert_options=pa.csv.ConvertOptions(
            column_types=dict.fromkeys(names, pa.string()),
            null_values=[""],
            strings_can_be_null=True,
            quoted_strings_can_be_null=False,
        ),
    )
    frame = pl.from_arrow(table)
    assert isinstance(frame, pl.DataFrame)
    return frame


def _judge(spec: TableSpec, frame: pl.DataFrame, where: str) -> None:
    """What `intake` would never have taken: a package is a file like any other."""
    wanted = [c.name for c in spec.columns if c.required or c.name in spec.key]
    bare = next((n for n in wanted if frame[n].null_count()), None)
    if bare:
        raise _refused(where, spec, f"a row has no {bare}")
    if frame.select(pl.struct(spec.key).is_duplicated().any()).item():
        raise _refused(where, spec, "two rows have the same number")
    for name in numbers_of(spec) if spec.name not in ("journal",) else []:
        wrong = frame.filter(pl.col(name).str.contains(UNSEEN_LETTERS) | pl.col(name).str.contains(PATH))
        if not wrong.is_empty():
            raise _refused(
                where, spec, f"{name} {wrong[name][0]!r} holds a character that cannot be seen, or is a path"
            )
    if spec.name == journal.SPEC.name and frame[journal.SEQ].sort().to_list() != list(range(1, frame.height + 1)):
        raise _refused(where, spec, "the journal has a gap")


def _refused(where: str, spec: TableSpec, what: str) -> SourceRefused:
    return SourceRefused(f"{where}, {spec.name}", what, "a package written by `enamels export`", "Export it again.")


def _from_text(name: str, dtype: pl.DataType) -> pl.Expr:
    text = pl.col(name)
    if dtype == pl.String or isinstance(dtype, pl.List):
        text = pl.when(text.str.starts_with("'")).then(text.str.slice(1)).otherwise(text)
    if isinstance(dtype, pl.List):
        return pl.when(text == "").then(pl.lit([], dtype)).otherwise(text.str.split(BETWEEN))
    if dtype == pl.Date:
        return text.str.to_date("%Y-%m-%d")
    if dtype.is_temporal():
        return text.str.to_datetime(MOMENT, time_unit="us")
    if dtype == pl.Boolean:
        return text == "true"
    return text.cast(dtype)
