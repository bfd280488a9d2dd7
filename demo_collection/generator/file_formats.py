"""Writing rows as CSV and workbooks whose bytes never vary."""

import csv
import io
import zipfile
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime
from pathlib import Path
from typing import Any

import xlsxwriter

from demo_collection.generator.tables import Row

CREATED = datetime(2026, 9, 30)
ZIP_DAY = (1980, 1, 1, 0, 0, 0)


def headings(rows: Iterable[Row]) -> list[str]:
    """Every heading that some row has, in the order met."""
    return [h for h in dict.fromkeys(h for row in rows for h in row) if h != "RAW"]


def csv_text(rows: Sequence[Row], delimiter: str = ",", above: Sequence[str] = ()) -> str:
    """Rows under their headings; `above`: title rows over the headings."""
    names, out = headings(rows), io.StringIO()
    writer = csv.writer(out, delimiter=delimiter, lineterminator="\n")
    writer.writerows([title, *[""] * (len(names) - 1)] for title in above)
    writer.writerow(names)
    for row in rows:
        writer.writerow([_text(row.get(n, "")) for n in names])
    return out.getvalue()


def _text(value: Any) -> str:
    if isinstance(value, float):
        return f"{value:g}" if abs(value) < 1e5 else f"{value:.0f}"
    return value.isoformat() if isinstance(value, date) else str(value)


def write_workbook(path: Path, sheets: Mapping[str, Sequence[Row]]) -> None:
    """A workbook of text cells, one sheet a record; a cell that starts with `=` is a formula nobody calculated."""
    with xlsxwriter.Workbook(path) as book:
        book.set_properties({"created": CREATED, "title": "invented, for demonstration"})
        for name, rows in sheets.items():
            sheet, names = book.add_worksheet(name), headings(rows)
            for column, heading in enumerate(names):
                sheet.write_string(0, column, heading)
            for line, row in enumerate(rows, start=1):
                for column, heading in enumerate(names):
                    _cell(sheet, line, column, _text(row.get(heading, "")))
    _without_compression(path)


def _cell(sheet: Any, line: int, column: int, text: str) -> None:
    if text.startswith("="):
        sheet.write_formula(line, column, text, None, "")
    elif text:
        sheet.write_string(line, column, text)


def _without_compression(path: Path) -> None:
    """The same members stored plain: no compressor, no clock in the bytes."""
    with zipfile.ZipFile(path) as packed:
        members = [(name, packed.read(name)) for name in packed.namelist()]
    with zipfile.ZipFile(path, "w", zipfile.ZIP_STORED) as plain:
        for name, data in members:
            plain.writestr(zipfile.ZipInfo(name, ZIP_DAY), data)
