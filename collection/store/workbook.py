"""The whole store as one workbook: a sheet a record, and before them a sheet that lists them."""

import zipfile
from collections.abc import Callable
from pathlib import Path

import polars as pl
import xlsxwriter
from xlsxwriter.worksheet import Worksheet

from collection.files import replacing
from collection.frames import returns
from collection.snapshot import stored_schema
from collection.store.package import BETWEEN, MOMENT
from schemas.fields import LONGEST_CELL
from schemas.tables import RECORDS, TableSpec

# Rows of a sheet in the XLSX format (ECMA-376), less the one of headings.
MOST_ROWS = 1_048_575
LIST_SHEET = "Records"
PRODUCER = "Enamel Register export"
# Text is text: nothing in it is run, followed or turned into a number.
_OPTIONS = {
    "constant_memory": True,
    "strings_to_formulas": False,
    "strings_to_urls": False,
    "strings_to_numbers": False,
}
SHEETS = pl.Schema(
    {"file": pl.String(), "record": pl.String()}
    | dict.fromkeys(("rows", "left_out", "cut"), pl.Int64())
    | {"remark": pl.String()}
)


@returns(SHEETS)
def publish(rows_of: Callable[[TableSpec], pl.DataFrame], path: Path) -> pl.DataFrame:
    """Write the workbook whole or not at all; one row a sheet, schema `SHEETS`.

    `left_out`: rows beyond what a sheet holds; `cut`: cells whose text is longer than a cell holds. Dates and times are
    written as text, year first, since a workbook has none before 1900. Raises OutputRefused.
    """
    counted = []
    with replacing(path) as draft:
        with xlsxwriter.Workbook(str(draft), _OPTIONS) as book:
            book.set_properties({"comments": PRODUCER})
            first = book.add_worksheet(LIST_SHEET)
            for name, spec in RECORDS.items():
                frame = rows_of(spec)
                if not frame.is_empty():
                    cut = _write(book.add_worksheet(name), spec, frame.head(MOST_ROWS))
                    counted.append((path.name, name, frame.height, max(frame.height - MOST_ROWS, 0), cut))
            listed = pl.DataFrame([(*row, remark(*row[2:])) for row in counted], schema=SHEETS, orient="row")
            _write_list(first, listed)
        return listed


def is_ours(path: Path) -> bool:
    """The file is a workbook that this module wrote."""
    try:
        with zipfile.ZipFile(path) as archive:
            return PRODUCER.encode() in archive.read("docProps/core.xml")
    except (OSError, KeyError, zipfile.BadZipFile):
        return False


def _write_list(sheet: Worksheet, listed: pl.DataFrame) -> None:
    sheet.write_row(0, 0, ["Sheet", "What a row is", "Rows", "Remark"])
    for line, row in enumerate(listed.iter_rows(named=True), start=1):
        what = (RECORDS[row["record"]].model.__doc__ or "").split("\n")[0]
        sheet.write_row(line, 0, [row["record"], what, row["rows"], row["remark"]])


def remark(rows: int, left_out: int, cut: int) -> str:
    """What a sheet does not hold of its record, in words; empty where it holds all."""
    parts = []
    if left_out:
        parts.append(f"the last {left_out:,} of {rows:,} rows do not fit into a sheet")
    if cut:
        parts.append(f"text of more than {LONGEST_CELL:,} characters is cut, in {cut:,} cells")
    return f"{'; '.join(parts)}: take CSV or Parquet for all of it" if parts else ""


def _write(sheet: Worksheet, spec: TableSpec, frame: pl.DataFrame) -> int:
    """Write rows under their headings; returns how many cells were cut."""
    names = stored_schema(spec).names()
    sheet.write_row(0, 0, names)
    cut = 0
    for line, row in enumerate(frame.select(_cell(n, t) for n, t in stored_schema(spec).items()).iter_rows(), start=1):
        for column, value in enumerate(row):
            if isinstance(value, str):
                cut += len(value) > LONGEST_CELL
                sheet.write_string(line, column, value[:LONGEST_CELL])
            elif isinstance(value, bool):
                sheet.write_boolean(line, column, value)
            elif value is not None:
                sheet.write_number(line, column, value)
    return cut


def _cell(name: str, dtype: pl.DataType) -> pl.Expr:
    value = pl.col(name)
    if isinstance(dtype, pl.List):
        return value.list.join(BETWEEN)
    if dtype == pl.Date:
        return value.dt.to_string("%Y-%m-%d")
    if dtype.is_temporal():
        return value.dt.strftime(MOMENT)
    return value.cast(pl.Float64) if dtype.is_decimal() else value
