"""The way out and back: a Frictionless Data Package (v2) of the whole store, as CSV or Parquet.

The specification is at datapackage.org; text that a spreadsheet would run as a formula gets one more `'` in front.
"""

import hashlib
import json
from collections.abc import Callable, Mapping
from pathlib import Path

import polars as pl

from collection.snapshot import SYSTEM_COLUMNS, kept_schema
from schemas.errors import SourceRefused, WrongUsage
from schemas.fields import ForeignKey, FromVocabulary, Private, Unit
from schemas.tables import RECORDS, Column, TableSpec
from schemas.vocabularies import vocabulary

DESCRIPTOR = "datapackage.json"
FORMS = ("csv", "parquet")
BETWEEN = ";"
# What a spreadsheet takes for a formula or swallows; common practice, no source.
FORMULA_STARTS = r"^[=+\-@\t\r']"
TYPES: Mapping[type, str] = {
    pl.String: "string",
    pl.Int64: "integer",
    pl.Float64: "number",
    pl.Boolean: "boolean",
    pl.Date: "date",
    pl.Datetime: "datetime",
    pl.Decimal: "number",
    pl.List: "list",
}
MOMENT = "%Y-%m-%dT%H:%M:%S%.6f"


def publish(rows_of: Callable[[TableSpec], pl.DataFrame], folder: Path, form: str) -> pl.DataFrame:
    """Write one file for each record that has rows, and the descriptor; returns file, rows, sha256."""
    if form not in FORMS:
        raise WrongUsage("--format", f"'{form}' is not a form of the package", " or ".join(FORMS), "Choose one.")
    folder.mkdir(parents=True, exist_ok=True)
    frames = {name: rows_of(spec) for name, spec in RECORDS.items()}
    resources = [_resource(RECORDS[n], f, folder, form) for n, f in frames.items() if not f.is_empty()]
    text = json.dumps(_descriptor(resources), ensure_ascii=False, indent=1) + "\n"
    (folder / DESCRIPTOR).write_text(text, "utf-8")
    counts = {name: frame.height for name, frame in frames.items()}
    listed = [(r["path"], counts[str(r["name"])], str(r["hash"]).removeprefix("sha256:")) for r in resources]
    listed.append((DESCRIPTOR, len(resources), hashlib.sha256(text.encode()).hexdigest()))
    return pl.DataFrame(listed, schema={"file": pl.String, "rows": pl.Int64, "sha256": pl.String}, orient="row")


def read(folder: Path) -> Mapping[str, pl.DataFrame]:
    """The records of a published package as typed frames. Raises SourceRefused where a file is not as described."""
    try:
        resources = json.loads((folder / DESCRIPTOR).read_text("utf-8"))["resources"]
        return {r["name"]: _read_resource(RECORDS[r["name"]], folder, r) for r in resources}
    except (OSError, ValueError, KeyError, TypeError, pl.exceptions.PolarsError) as error:
        raise SourceRefused(
            str(folder / DESCRIPTOR),
            f"the package cannot be read ({error})",
            "a package written by `enamels export`",
            "Export it again.",
        ) from None


def _read_resource(spec: TableSpec, folder: Path, resource: Mapping[str, str]) -> pl.DataFrame:
    path = folder / Path(resource["path"]).name
    if f"sha256:{_digest(path)}" != resource["hash"]:
        raise SourceRefused(
            str(path), "the file was changed after it was exported", "the file as exported", "Export it again."
        )
    schema = kept_schema(spec)
    if path.suffix == ".parquet":
        return pl.read_parquet(path).select(pl.col(n).cast(t) for n, t in schema.items())
    text = pl.read_csv(path, infer_schema=False)
    return text.select(_from_text(n, t).alias(n) for n, t in schema.items())


def _resource(spec: TableSpec, frame: pl.DataFrame, folder: Path, form: str) -> dict[str, object]:
    path = folder / f"{spec.name}.{form}"
    if form == "csv":
        frame.select(_to_text(n, t).alias(n) for n, t in kept_schema(spec).items()).write_csv(path)
    else:
        frame.write_parquet(path, statistics=False)
    media = "text/csv" if form == "csv" else "application/vnd.apache.parquet"
    return {
        "name": spec.name,
        "path": path.name,
        "description": (spec.model.__doc__ or "").split("\n")[0],
        "format": form,
        "mediatype": media,
        "encoding": "utf-8",
        "hash": f"sha256:{_digest(path)}",
        "bytes": path.stat().st_size,
        "schema": _schema(spec),
    }


def _schema(spec: TableSpec) -> dict[str, object]:
    keys = [(c.name, p.record) for c in spec.columns if (p := c.mark(ForeignKey)) and not c.several]
    return {
        "fields": [_field(spec, n, t) for n, t in kept_schema(spec).items()],
        "primaryKey": list(spec.key),
        "foreignKeys": [
            {"fields": [name], "reference": {"resource": record, "fields": list(RECORDS[record].key)[:1]}}
            for name, record in keys
        ],
        "missingValues": [""],
    }


def _field(spec: TableSpec, name: str, dtype: pl.DataType) -> dict[str, object]:
    declared = {c.name: c for c in spec.columns}.get(name)
    field: dict[str, object] = {"name": name, "type": TYPES[dtype.base_type()]}
    if isinstance(dtype, pl.List):
        field |= {"delimiter": BETWEEN, "itemType": "string"}
    if name in SYSTEM_COLUMNS:
        field["description"] = "Kept by the register"
    return field | (_marks(declared) if declared else {})


def _marks(column: Column) -> dict[str, object]:
    said: dict[str, object] = {"description": column.text}
    if unit := column.mark(Unit):
        said["unit"] = unit.symbol
    if term := column.mark(FromVocabulary):
        terms = vocabulary(term.vocabulary)
        said["categories"] = [{"value": k, "label": e.label} for k, e in terms.term.items()]
        said["categoriesOrdered"] = terms.ordered
    if private := column.mark(Private):
        said["private"] = private.why
    if column.required:
        said["constraints"] = {"required": True}
    return said


def _descriptor(resources: list[dict[str, object]]) -> dict[str, object]:
    return {
        "$schema": "https://datapackage.org/profiles/2.0/datapackage.json",
        "name": "enamel-register",
        "title": "Records of an enamel register",
        "description": "Text that begins with = + - @ ' tab or return is written with one more ' in front.",
        "resources": resources,
    }


def guarded(text: pl.Expr) -> pl.Expr:
    """Text as a spreadsheet shows it and never runs it."""
    return pl.when(text.str.contains(FORMULA_STARTS)).then(pl.concat_str(pl.lit("'"), text)).otherwise(text)


def _to_text(name: str, dtype: pl.DataType) -> pl.Expr:
    value = pl.col(name)
    if isinstance(dtype, pl.List):
        value = value.list.join(BETWEEN)
    if dtype.is_temporal() and dtype != pl.Date:
        return value.dt.strftime(MOMENT)
    return guarded(value) if dtype == pl.String or isinstance(dtype, pl.List) else value


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


def _digest(path: Path) -> str:
    with path.open("rb") as handle:
        return hashlib.file_digest(handle, "sha256").hexdigest()
