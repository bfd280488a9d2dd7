"""How the store and the package of version 0.1.0 in this folder were made; run with an environment of that version.

python tests/stores/make_0_1_0.py FOLDER

The report: `enamels report object-1 --store 0.1.0.duckdb` of the same version, packed with gzip.
"""

import gzip
import shutil
import sys
from datetime import date, datetime
from decimal import Decimal
from pathlib import Path

import polars as pl

from collection.store import Change, Store
from schemas.fields import Partial, Points, Term
from schemas.tables import RECORDS, Column, OneOf, TableSpec, stored
from schemas.vocabularies import vocabulary

NOON = datetime(2026, 3, 1, 12)
SET = {"magnitude_line": "9.5", "currency": "GBP", "today": "2026-09-30", "value_basis": "value_points"}
APART = ("journal", "climate_reading")
PLAIN = {pl.Int64: 1, pl.Float64: 0.5, pl.Boolean: True, pl.Date: date(2026, 3, 1), pl.Datetime: NOON}


def value(column: Column, number: int) -> object:
    """A value a column may hold; the first of its vocabulary, the numbered row it points to."""
    if points := column.mark(Points):
        return f"{points.record}-{number}" if points.record != "photo" else "f" * 64
    if term := column.mark(Term):
        first = next(iter(vocabulary(term.vocabulary).term))
        return [first] if column.several else first
    if one := next((c for c in column.constraints if isinstance(c, OneOf)), None):
        return one.words[-1]
    if column.mark(Partial):
        return "2026-03"
    if column.dtype.is_decimal():
        return Decimal("12.50")
    if "{64}" in str(column.constraints):
        return "f" * 64
    return PLAIN.get(type(column.dtype), f"{column.name} {number}, 'Émail' =1+1")


def row(spec: TableSpec, number: int) -> dict[str, object]:
    """A full row (number 1), or one with the least it needs."""
    own = spec.key[0] if not spec.column(spec.key[0]).mark(Points) else None
    values: dict[str, object] = {}
    for column in spec.columns:
        if number == 1 or column.required or column.name in spec.key:
            values[column.name] = value(column, number)
            if column.mark(Partial):
                values |= dict(
                    zip([n for n, _ in stored(column)][1:], (date(2026, 3, 1), date(2026, 3, 31)), strict=True)
                )
    if own and spec.column(own).dtype == pl.String and "{64}" not in str(spec.column(own).constraints):
        values[own] = f"{spec.name}-{number}"
    return values


def rows(spec: TableSpec) -> pl.DataFrame:
    """Two rows of a record; settings by name."""
    if spec.name == "setting":
        return pl.DataFrame([{"name": n, "value": v, "set_by": "ada"} for n, v in SET.items()])
    both = [row(spec, n) for n in (1, 2)]
    if spec.name == "refused_row":
        both = [
            r | {"outcome": o, "source_row": n}
            for n, (r, o) in enumerate(zip(both, ("refused", "not_enamel_on_metal"), strict=True), 2)
        ]
    frame = pl.DataFrame(both, schema=spec.schema())
    return frame.unique(spec.key, keep="first", maintain_order=True)


def main(folder: Path) -> None:
    """Make the store and a package of it, both packed."""
    store = Store(folder / "0.1.0.duckdb", now=lambda: NOON)
    store.write(Change({n: rows(s) for n, s in RECORDS.items() if n not in APART}), by="ada")
    change = pl.DataFrame({"object_id": ["object-2"], "title": ["Changed"], "row_version": [1]})
    store.write(Change({"object": change}), by="ben")
    readings = pl.DataFrame(
        {
            "logger_id": ["L"] * 3,
            "location_id": ["location-1"] * 3,
            "read_at": [NOON.replace(hour=h) for h in range(3)],
            "rh_percent": [50.0, 51, 52],
        }
    )
    store.write_readings(iter([readings]), "l.csv", "0" * 64, by="ada")
    package = folder / "package"
    store.publish(package, "csv")
    shutil.make_archive(str(folder / "0.1.0-package"), "zip", package)
    shutil.rmtree(package)
    with store.path.open("rb") as whole, gzip.open(folder / "0.1.0.duckdb.gz", "wb") as packed:
        shutil.copyfileobj(whole, packed)
    store.path.unlink()


if __name__ == "__main__":
    main(Path(sys.argv[1]))
