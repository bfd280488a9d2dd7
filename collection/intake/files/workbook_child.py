"""Run as a process of its own: reads one workbook into Arrow files and dies alone if the workbook is a trap.

python workbook_child.py WORKBOOK OUT_FOLDER MEMORY_BYTES
"""

import json
import re
import resource
import sys
import zipfile
from pathlib import Path
from xml.etree import ElementTree

CELL = re.compile(rb'<c r="([A-Z]+)(\d+)"([^>]*?)(?:/>|>(.*?)</c>)', re.DOTALL)
TEXT_CELL = re.compile(rb't="(?:s|str|inlineStr|b|e|d)"')


def main(source: Path, folder: Path, memory_bytes: int) -> None:
    """Write `N.arrow` for each sheet and `sheets.json` with names, cells of numbers and formulas without a value."""
    resource.setrlimit(resource.RLIMIT_AS, (memory_bytes, memory_bytes))
    import fastexcel
    import pyarrow.ipc

    book = fastexcel.read_excel(source)
    files = _sheet_files(source)
    listed = []
    for number, name in enumerate(book.sheet_names):
        batch = book.load_sheet(name, header_row=None, skip_rows=0, dtypes="string", eager=True)
        with (
            pyarrow.OSFile(str(folder / f"{number}.arrow"), "wb") as sink,
            pyarrow.ipc.new_file(sink, batch.schema) as out,
        ):
            out.write_batch(batch)
        listed.append({"name": name, **_kinds_of_cells(source, files.get(name))})
    (folder / "sheets.json").write_text(json.dumps(listed), "utf-8")


def _sheet_files(source: Path) -> dict[str, str]:
    """Sheet name to the file inside the workbook that holds it (ECMA-376, part 1, workbook relationships)."""
    try:
        with zipfile.ZipFile(source) as book:
            links = {
                r.get("Id"): r.get("Target", "")
                for r in ElementTree.fromstring(book.read("xl/_rels/workbook.xml.rels"))
            }
            sheets = ElementTree.fromstring(book.read("xl/workbook.xml")).iter()
            return {
                str(s.get("name")): "xl/" + links[value].removeprefix("/xl/")
                for s in sheets
                for key, value in s.attrib.items()
                if key.endswith("}id") and value in links and s.get("name")
            }
    except (zipfile.BadZipFile, KeyError, ElementTree.ParseError):
        return {}  # an older binary workbook


def _kinds_of_cells(source: Path, file: str | None) -> dict[str, list[int] | list[list[int]]]:
    numbers, formulas = set(), []
    if file is not None:
        with zipfile.ZipFile(source) as book:
            xml = book.read(file)
        for column, row, kind, inside in CELL.findall(xml):
            if b"<f" in inside and not re.search(rb"<v>[^<]", inside):
                formulas.append([int(row), _position(column)])
            elif b"<v>" in inside and not TEXT_CELL.search(kind):
                numbers.add(_position(column))
    return {"numbers": sorted(numbers), "formulas": formulas}


def _position(letters: bytes) -> int:
    position = 0
    for letter in letters:
        position = position * 26 + letter - ord("A") + 1
    return position - 1


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]), int(sys.argv[3]))
