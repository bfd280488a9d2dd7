"""All files of the demonstration, drawn and written into a folder as CSV and workbooks whose bytes never vary."""

import csv
import io
import shutil
import zipfile
from collections.abc import Iterable, Mapping
from datetime import date, datetime
from pathlib import Path
from typing import Any

import xlsxwriter

from demo_collection.generator import actions, catalogue, climate, documents, draws, loans
from demo_collection.generator.mistakes import with_mistakes
from demo_collection.generator.simulation import simulate
from demo_collection.generator.tables import COPIED, Row, table

BYTE_ORDER_MARK = b"\xef\xbb\xbf"
CREATED, ZIP_DAY = datetime(2026, 9, 30), (1980, 1, 1, 0, 0, 0)
DRAWN = {
    "catalogue.csv": catalogue.old_catalogue,
    "recent_acquisitions.csv": catalogue.recent_acquisitions,
    "measured_areas.csv": catalogue.measured_areas,
    "masses.csv": catalogue.masses,
    "origins.csv": catalogue.origins,
    "actions.csv": actions.actions,
    "fragments.csv": documents.fragments,
    "evidence.csv": documents.evidence,
    "moves.csv": loans.moves,
    "loan_checks.csv": loans.checks_for_loans,
    "loan_observations.csv": lambda: loans.lines_for_loans()["observation"],
    "loan_repair_states.csv": lambda: loans.lines_for_loans()["repair_state"],
    "decisions.csv": documents.decisions,
    "survey_units.csv": draws.survey_units,
}


def write_all(folder: Path) -> None:
    """Draw everything and write it. The folder must be empty or not exist."""
    folder.mkdir(parents=True, exist_ok=True)
    if any(folder.iterdir()):
        raise FileExistsError(f"{folder} is not empty")
    for path in COPIED.iterdir():
        shutil.copyfile(path, folder / path.name)
    rows = {name: draw() for name, draw in DRAWN.items()}
    rows |= {its["file"]: simulate().rows[its["record"]] for its in table("simulated_files")}
    for name, its in rows.items():
        (folder / name).write_bytes(with_mistakes(name, csv_text(its)))
    (folder / "bequest_list.csv").write_bytes(BYTE_ORDER_MARK + csv_text(catalogue.bequest_list(), ";").encode())
    for name, (first, last) in climate.FILES.items():
        (folder / name).write_text(climate.readings(first, last), "utf-8", newline="\n")
    write_workbook(folder / "loans.xlsx", loans.workbook_sheets())
    old = {"reports": "old_reports", "damage": "old_report_damage", "lines": "old_report_lines"}
    write_workbook(folder / "old_reports.xlsx", {sheet: table(name) for sheet, name in old.items()})


def csv_text(rows: Iterable[Row], delimiter: str = ",") -> str:
    """Rows under their headings."""
    out, listed = io.StringIO(), list(rows)
    writer = csv.writer(out, delimiter=delimiter, lineterminator="\n")
    writer.writerow(listed[0])
    writer.writerows([_text(value) for value in row.values()] for row in listed)
    return out.getvalue()


def _text(value: Any) -> str:
    if isinstance(value, float):
        return f"{value:g}" if abs(value) < 1e5 else f"{value:.0f}"
    return value.isoformat() if isinstance(value, date) else str(value)


def write_workbook(path: Path, sheets: Mapping[str, list[Row]]) -> None:
    """A workbook of text cells, one sheet a record; a cell that starts with `=` is a formula nobody calculated."""
    with xlsxwriter.Workbook(path) as book:
        book.set_properties({"created": CREATED, "title": "invented, for demonstration"})
        for name, rows in sheets.items():
            sheet = book.add_worksheet(name)
            for line, cells in enumerate([list(rows[0]), *(row.values() for row in rows)]):
                for column, value in enumerate(cells):
                    _write_cell(sheet, line, column, _text(value))
    _store_uncompressed(path)


def _write_cell(sheet: Any, line: int, column: int, text: str) -> None:
    if text.startswith("="):
        sheet.write_formula(line, column, text, None, "")
    elif text:
        sheet.write_string(line, column, text)


def _store_uncompressed(path: Path) -> None:
    """The same members stored plain: no compressor, no clock in the bytes."""
    with zipfile.ZipFile(path) as packed:
        members = [(name, packed.read(name)) for name in packed.namelist()]
    with zipfile.ZipFile(path, "w", zipfile.ZIP_STORED) as plain:
        for name, data in members:
            plain.writestr(zipfile.ZipInfo(name, ZIP_DAY), data)
