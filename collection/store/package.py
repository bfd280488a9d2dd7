"""The way out: a Frictionless Data Package (v2) of the whole store, as CSV or Parquet.

The specification is at datapackage.org; text that a spreadsheet would run as a formula gets one more `'` in front.
"""

import json
import os
from collections.abc import Callable, Mapping
from pathlib import Path

import polars as pl

from collection.files import (
    clear_drafts,
    digest,
    digest_of_bytes,
    draft_folder,
    mode_of,
    output_errors,
    read_source,
    sync,
)
from collection.snapshot import SYSTEM_COLUMNS, stored_schema
from collection.store.tables import SCHEMA_VERSION
from schemas.errors import OutputRefused, SourceRefused, WrongUsage
from schemas.fields import ForeignKey, FromVocabulary, Private, Unit
from schemas.tables import RECORDS, Column, TableSpec
from schemas.vocabularies import vocabulary

DESCRIPTOR, NAME = "datapackage.json", "enamel-register"
MOST_DESCRIPTOR_BYTES = 2**26
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


def publish(
    rows_of: Callable[[TableSpec], pl.DataFrame], folder: Path, form: str, *, replace: bool = False
) -> pl.DataFrame:
    """Write one file for each record that has rows, and the descriptor; returns file, rows, sha256.

    The package is written whole into a folder of its own, which then takes its name: no reader sees a part of it or a
    mixture. `replace`: an earlier package, unchanged since, makes way. Raises OutputRefused for any other folder that
    is there and not empty.
    """
    if form not in FORMS:
        raise WrongUsage("--format", f"'{form}' is not a form of the package", " or ".join(FORMS), "Choose one.")
    target = Path(os.path.realpath(folder))
    with output_errors(folder):
        _require_free(target, replace=replace)
        target.parent.mkdir(parents=True, exist_ok=True)
        clear_drafts(target.parent, f"{target.name}.")
        with draft_folder(target) as draft:
            listed = _write(rows_of, draft, form)
            _swap(draft, target)
    return listed


def _require_free(folder: Path, *, replace: bool) -> None:
    if not os.path.lexists(folder) or (folder.is_dir() and not any(folder.iterdir())):
        return
    expected = "a new or empty folder"
    if not folder.is_dir():
        raise OutputRefused(str(folder), "there is a file of this name", expected, "Name another folder.")
    if not is_unchanged(folder):
        what = "there are files in this folder that no export wrote, or that were changed since"
        raise OutputRefused(str(folder), what, expected, "Name another folder.")
    if not replace:
        what = "there is an earlier export in this folder"
        raise OutputRefused(str(folder), what, expected, "Name another folder, or say --replace.")


def is_unchanged(folder: Path) -> bool:
    """The folder holds a package of ours, every file as it was written, and nothing else."""
    try:
        package = json.loads(read_source(folder / DESCRIPTOR, MOST_DESCRIPTOR_BYTES))
        hashes = {r["path"]: str(r["hash"]).removeprefix("sha256:") for r in package["resources"]}
        names = {path.name for path in folder.iterdir()}
        ours = package["name"] == NAME and names == {DESCRIPTOR, *hashes}
        return ours and all(digest(folder / name) == sha256 for name, sha256 in hashes.items())
    except (OSError, SourceRefused, ValueError, KeyError, TypeError):
        return False


def _swap(draft: Path, target: Path) -> None:
    """A killed process leaves the old package, the new one, or none; never parts of both."""
    draft.chmod(mode_of(target, usual=0o777))
    with draft_folder(target) as aside:
        if target.exists():
            os.rename(target, aside / "earlier")
        os.rename(draft, target)
        sync(target.parent)


def _write(rows_of: Callable[[TableSpec], pl.DataFrame], folder: Path, form: str) -> pl.DataFrame:
    resources, listed = [], []
    for name, spec in RECORDS.items():  # one record after another, so that only one is in memory
        frame = rows_of(spec)
        if not frame.is_empty():
            resource = _resource(spec, frame, folder, form)
            resources.append(resource)
            listed.append((f"{name}.{form}", frame.height, str(resource["hash"]).removeprefix("sha256:")))
    text = json.dumps(_descriptor(resources), ensure_ascii=False, indent=1) + "\n"
    (folder / DESCRIPTOR).write_text(text, "utf-8")
    listed.append((DESCRIPTOR, len(resources), digest_of_bytes(text.encode())))
    return pl.DataFrame(listed, schema={"file": pl.String, "rows": pl.Int64, "sha256": pl.String}, orient="row")


def _resource(spec: TableSpec, frame: pl.DataFrame, folder: Path, form: str) -> dict[str, object]:
    path = folder / f"{spec.name}.{form}"
    if form == "csv":
        frame.select(_to_text(n, t).alias(n) for n, t in stored_schema(spec).items()).write_csv(path)
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
        "hash": f"sha256:{digest(path)}",
        "bytes": path.stat().st_size,
        "schema": _schema(spec),
    }


def _schema(spec: TableSpec) -> dict[str, object]:
    keys = [(c.name, p.record) for c in spec.columns if (p := c.mark(ForeignKey)) and not c.several]
    return {
        "fields": [_field(spec, n, t) for n, t in stored_schema(spec).items()],
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
    notes: dict[str, object] = {"description": column.text}
    if unit := column.mark(Unit):
        notes["unit"] = unit.symbol
    if term := column.mark(FromVocabulary):
        terms = vocabulary(term.vocabulary)
        notes["categories"] = [{"value": k, "label": e.label} for k, e in terms.term.items()]
        notes["categoriesOrdered"] = terms.ordered
    if private := column.mark(Private):
        notes["private"] = private.why
    if column.required:
        notes["constraints"] = {"required": True}
    return notes


def _descriptor(resources: list[dict[str, object]]) -> dict[str, object]:
    return {
        "$schema": "https://datapackage.org/profiles/2.0/datapackage.json",
        "name": NAME,
        "schemaVersion": SCHEMA_VERSION,
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
