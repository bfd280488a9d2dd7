"""Run as a process of its own: reads one workbook into Arrow files, so that only it ends if the workbook is a trap.

python workbook_child.py WORKBOOK OUT_FOLDER MEMORY_BYTES
"""

import json
import re
import resource
import sys
import zipfile
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

# Types of cells that hold text, a logical value, an error or a date in words (ECMA-376 part 1, 18.18.11).
ERROR, NUMBER = "e", "n"
COLOURED = "colour"  # not of the standard: an empty cell with a fill
NO_COLOUR = (None, "none", "gray125")  # patterns that every workbook lists first
ERROR_TYPE = re.compile(rb"""(<(?:\w+:)?c\b[^>]*?\bt\s*=\s*)(["'])e\2""")
MOST_FAULTS = 100_000


def main(source: Path, folder: Path, memory_bytes: int) -> None:
    """Write `N.arrow` for each sheet and `sheets.json`: name, hidden or not, columns of numbers, faults of cells."""
    resource.setrlimit(resource.RLIMIT_AS, (memory_bytes, memory_bytes))
    import pyarrow.ipc

    files = _sheet_files(source)
    book, names = _opened(source, folder)
    listed = []
    for number, name in enumerate(names):
        batch = book.load_sheet(name, header_row=None, skip_rows=0, dtypes="string", eager=True)
        with (
            pyarrow.OSFile(str(folder / f"{number}.arrow"), "wb") as sink,
            pyarrow.ipc.new_file(sink, batch.schema) as out,
        ):
            out.write_batch(batch)
        file, hidden = files.get(name, (None, False))
        listed.append({"name": name, "hidden": hidden, **_kinds_of_cells(source, file, _holds(batch))})
    (folder / "sheets.json").write_text(json.dumps(listed), "utf-8")


def _opened(source: Path, folder: Path) -> tuple[Any, list[str]]:
    """The workbook; one with errors that the reader does not know is read from a copy that has them as text."""
    import fastexcel

    try:
        book = fastexcel.read_excel(source)
        for name in book.sheet_names:
            book.load_sheet(name, header_row=None, skip_rows=0, dtypes="string", n_rows=0, eager=True)
    except fastexcel.FastExcelError:
        copy = folder / "errors_as_text.xlsx"
        if not _with_errors_as_text(source, copy):
            raise
        book = fastexcel.read_excel(copy)
    return book, list(book.sheet_names)


def _with_errors_as_text(source: Path, copy: Path) -> bool:
    """Copy a workbook with its error cells as cells of text; False where it has none or is no such workbook."""
    if not zipfile.is_zipfile(source):
        return False
    changed = 0
    with zipfile.ZipFile(source) as book, zipfile.ZipFile(copy, "w", zipfile.ZIP_DEFLATED) as out:
        for name in book.namelist():
            data = book.read(name)
            if name.startswith("xl/worksheets/"):
                data, count = ERROR_TYPE.subn(rb"\1\2str\2", data)
                changed += count
            out.writestr(name, data)
    return changed > 0


def _sheet_files(source: Path) -> dict[str, tuple[str, bool]]:
    """Sheet name to the file inside the workbook that holds it and whether it is hidden (ECMA-376, part 1)."""
    try:
        with zipfile.ZipFile(source) as book:
            links = {
                r.get("Id"): r.get("Target", "")
                for r in ElementTree.fromstring(book.read("xl/_rels/workbook.xml.rels"))
            }
            sheets = ElementTree.fromstring(book.read("xl/workbook.xml")).iter()
            return {
                str(s.get("name")): ("xl/" + links[value].removeprefix("/xl/"), s.get("state", "visible") != "visible")
                for s in sheets
                for key, value in s.attrib.items()
                if key.endswith("}id") and value in links and s.get("name")
            }
    except (zipfile.BadZipFile, KeyError, ElementTree.ParseError):
        return {}  # an older binary workbook


def _holds(batch: Any) -> Callable[[int, int], bool]:
    """Whether the cell in this row and column (both from 0) was read."""
    columns = [column.is_valid().to_numpy(zero_copy_only=False) for column in batch.columns]

    def holds(row: int, column: int) -> bool:
        return column < len(columns) and row < len(columns[column]) and bool(columns[column][row])

    return holds


def _kinds_of_cells(source: Path, file: str | None, holds: Callable[[int, int], bool]) -> dict[str, Any]:
    """`numbers`: columns with number cells; `faults`: row, column, rule and text of cells that gave no value."""
    numbers: set[int] = set()
    faults: list[tuple[int, int, str, str | None]] = []
    if file is not None:
        with zipfile.ZipFile(source) as book, book.open(file) as xml:
            for row, column, kind, value, is_formula in _cells(xml, _fills(book)):
                if kind == ERROR:
                    faults.append((row, column, "error_cell", value))
                elif kind == COLOURED:
                    faults.append((row, column, "colour_only", None))
                elif value is None and is_formula:
                    faults.append((row, column, "formula_without_value", None))
                elif value is not None and not holds(row - 1, column):
                    faults.append((row, column, "cell_lost", value))
                elif value is not None and kind == NUMBER:
                    numbers.add(column)
                if len(faults) > MOST_FAULTS:
                    break
    return {"numbers": sorted(numbers), "faults": faults}


def _fills(book: zipfile.ZipFile) -> dict[str, str]:
    """Style of a cell to its fill, of styles that fill a cell with a colour (ECMA-376 part 1, 18.8.10 and 18.8.20)."""
    try:
        styles = ElementTree.fromstring(book.read("xl/styles.xml"))
    except (KeyError, ElementTree.ParseError):
        return {}
    space = styles.tag.rpartition("}")[0] + "}" if "}" in styles.tag else ""
    fills = [f.find(f"{space}patternFill") for f in styles.findall(f"{space}fills/{space}fill")]
    solid = {str(n) for n, fill in enumerate(fills) if fill is not None and fill.get("patternType") not in NO_COLOUR}
    formats = [its.get("fillId", "0") for its in styles.findall(f"{space}cellXfs/{space}xf")]
    return {str(n): fill for n, fill in enumerate(formats) if fill in solid}


def _cells(xml: Any, fills: Mapping[str, str]) -> Iterator[tuple[int, int, str, str | None, bool]]:
    """Row, column, type, value (None: none) of each cell with something in it, and whether it holds a formula.

    A cell that holds nothing but a colour, other than that of the first cell of its row, has the type COLOURED.
    """
    row = column = 0
    of_first: str | None = None
    for event, element in ElementTree.iterparse(xml, events=("start", "end")):
        tag = element.tag.rpartition("}")[2]
        if tag == "row":
            if event == "start":
                row, column, of_first = int(element.get("r", row + 1)), 0, None
            else:
                element.clear()
        elif tag == "c" and event == "end":
            column = _position(element.get("r"), column)
            parts = {child.tag.rpartition("}")[2]: child for child in element}
            value, formula = parts.get("v"), "f" in parts
            text = value.text if value is not None else None
            fill = fills.get(element.get("s", ""))
            of_first = fill if column == 0 else of_first
            if fill is not None and fill != of_first and not text and not formula:
                yield row, column, COLOURED, None, False
            if text or formula:
                yield row, column, element.get("t", NUMBER), text or None, formula
            column += 1
            element.clear()


def _position(reference: str | None, usual: int) -> int:
    """The column of a cell from 0, from a reference such as `AB12`; the one behind the last where it has none."""
    position = 0
    for letter in (reference or "").rstrip("0123456789").upper():
        position = position * 26 + ord(letter) - ord("A") + 1
    return position - 1 if reference else usual


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]), int(sys.argv[3]))
