"""What the files said of an object, cell by cell, as it was written: read again from the files beside the store."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import polars as pl

from collection.intake.files.reader import read_sheets
from collection.intake.files.sheet import SOURCE_ROW, Sheet
from collection.intake.written_by_hand import upright
from collection.snapshot import Collection
from collection.store import originals
from collection.validation.spelling import normal
from schemas.errors import SourceRefused
from schemas.tables import RECORDS, TableSpec

OBJECT_ID, SOURCE_FILE = "object_id", "source_file"
MOST_ROWS = 50  # of an object that are looked up: a person reads no more
c = pl.col


@dataclass(frozen=True)
class WrittenRow:
    """One row of a file: its cells by heading, empty ones left out; or why they cannot be shown."""

    file: str
    row: int
    cells: Sequence[tuple[str, str]]
    lacking: str = ""

    @property
    def title(self) -> str:
        """*catalogue.csv, row 12*, and why nothing of it can be shown where that is so."""
        return f"{self.file}, row {self.row}" + (f": {self.lacking}" if self.lacking else "")


def as_written(store: Path, collection: Collection, object_id: str) -> list[WrittenRow]:
    """Every row of a file that a record of the object came from, in order of file and row.

    A row is shown where one of its cells is the number of the object or of the record, and also where it can be no
    other: where one sheet alone of that name and length came in.
    """
    files = collection["intake_file"].sort("read_on", descending=True, maintain_order=True)
    shown: list[WrittenRow] = []
    for (name,), rows in _rows_of(collection, object_id).group_by(SOURCE_FILE, maintain_order=True):
        paths = [originals.find(store, sha) for sha in files.filter(name=name)["sha256"]]
        sheets = [sheet for path in paths if path for sheet in _sheets(path)]
        shown += [_written(its, sheets) for its in rows.iter_rows(named=True)]
    return shown


def _rows_of(collection: Collection, object_id: str) -> pl.DataFrame:
    """source_file, source_row and keys (numbers as compared) of the records of an object, at most MOST_ROWS."""
    with_object = [s for n, s in RECORDS.items() if n in collection.frames and OBJECT_ID in s.schema()]
    each = pl.concat([_places(collection[s.name].filter(c(OBJECT_ID) == object_id), s) for s in with_object])
    numbers = c("keys").explode().drop_nulls().unique()
    return each.group_by(SOURCE_FILE, SOURCE_ROW).agg(numbers).sort(SOURCE_FILE, SOURCE_ROW).head(MOST_ROWS)


def _places(rows: pl.DataFrame, spec: TableSpec) -> pl.DataFrame:
    numbers = sorted({OBJECT_ID, *(k for k in spec.key if spec.schema()[k] == pl.String)})
    placed = rows.drop_nulls([SOURCE_FILE, SOURCE_ROW])
    return placed.select(SOURCE_FILE, SOURCE_ROW, keys=pl.concat_list([normal(n) for n in numbers]))


def _sheets(path: Path) -> Iterator[Sheet]:
    try:
        yield from map(upright, read_sheets(path))
    except SourceRefused:  # it was read once: what it lacks now is said by the rows that cannot be shown
        return


def _written(wanted: Mapping[str, Any], sheets: Sequence[Sheet]) -> WrittenRow:
    name, number = wanted[SOURCE_FILE], wanted[SOURCE_ROW]
    lines = [its for sheet in sheets if not (its := sheet.cells.filter(c(SOURCE_ROW) == number)).is_empty()]
    sure = [its for its in lines if _compared(its) & set(wanted["keys"])]
    best = sure or (lines if len(lines) == 1 else [])
    if not best:
        lacking = "the row cannot be told from others in the file" if sheets else "the file is not beside the store"
        return WrittenRow(name, number, (), lacking)
    cells = best[0].drop(SOURCE_ROW).row(0, named=True)
    return WrittenRow(name, number, [(heading, text) for heading, text in cells.items() if (text or "").strip()])


def _compared(line: pl.DataFrame) -> set[str]:
    cells = line.drop(SOURCE_ROW).unpivot(value_name="cell").drop_nulls("cell")
    return set(cells.select(normal("cell")).to_series())
