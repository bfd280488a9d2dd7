"""Hostile workbooks: formulas without a value, numbers kept as numbers, far cells and a zip bomb end in an answer."""

import subprocess
import sys
import zipfile
import zlib
from pathlib import Path

import openpyxl


def test_formula_cells_without_a_value_are_asked_about_and_refuse_a_row_only_in_its_number(tmp_path, bring_in, store):
    book = openpyxl.Workbook()
    for row in (["object_id", "title", "height_mm"], ["V.1", "Plaque", "=1+1"], ["V.2", "Bowl", 12], ["=1", "Jug", 3]):
        book.active.append(row)
    book.save(tmp_path / "f.xlsx")

    result = bring_in(tmp_path / "f.xlsx")

    assert store.read()["object"].select("object_id", "height_mm").rows() == [("V.1", None), ("V.2", 12.0)]
    assert result.problems.select("source_row", "rule", "column", "level").rows() == [
        (2, "formula_without_value", "height_mm", "ask"),
        (4, "formula_without_value", "object_id", "refuse"),
    ]


def test_numbers_of_objects_kept_as_numbers_get_a_note(write_xlsx, judge):
    result = judge(write_xlsx("n.xlsx", s=[["object_id", "title"], [1912.10, "Plaque"]])).answer

    assert "trailing_zeros_lost" in result.problems["rule"].to_list()


TRAPS = """
import sys, time
from pathlib import Path
from collection.intake.files.reader import read_sheets
from schemas.errors import SourceRefused
started = time.monotonic()
for name in sys.argv[1:]:
    try:
        print("rows", sum(s.cells.height for s in read_sheets(Path(name))))
    except SourceRefused as refused:
        print("refused:", refused.what)
peak = next(line for line in open("/proc/self/status") if line.startswith("VmHWM"))  # of this process alone
print(round(time.monotonic() - started), int(peak.split()[1]) // 1024)
"""


def test_two_far_cells_and_a_zip_bomb_end_in_an_answer_and_the_next_file_is_read(tmp_path, write_xlsx):
    far = openpyxl.Workbook()
    far.active["A1"], far.active["XFD1048576"] = "object_id", "x"
    far.save(tmp_path / "far.xlsx")
    bomb(tmp_path / "bomb.xlsx", tmp_path / "far.xlsx", size=3 * 1024**3)
    good = write_xlsx("good.xlsx", s=[["object_id"], ["V.1"]])

    names = [str(tmp_path / n) for n in ("far.xlsx", "bomb.xlsx")] + [str(good)]
    done = subprocess.run(
        [sys.executable, "-c", TRAPS, *names], capture_output=True, text=True, timeout=180, check=True
    )

    first, second, third, figures = done.stdout.strip().split("\n")
    seconds, parent_mb = map(int, figures.split())
    assert first.startswith("refused:")
    assert second.startswith("refused:")
    assert third == "rows 1"
    assert seconds < 90
    assert parent_mb < 500


def bomb(path: Path, like: Path, *, size: int) -> None:
    """A workbook of a few MB whose sheet unpacks to `size` bytes."""
    with zipfile.ZipFile(like) as source, zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as target:
        for name in source.namelist():
            if not name.endswith("sheet1.xml"):
                target.writestr(name, source.read(name))
        with target.open("xl/worksheets/sheet1.xml", "w", force_zip64=True) as sheet:
            sheet._compressor = Repeating()
            sheet.write(
                b'<?xml version="1.0"?><worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>'
            )
            line = b'<row r="1"><c r="A1" t="inlineStr"><is><t>' + b"x" * 1000 + b"</t></is></c></row>"
            block = line * 2000
            for _ in range(size // len(block)):
                sheet.write(block)
            sheet.write(b"</sheetData></worksheet>")
    assert path.stat().st_size < 12 * 1024**2


class Repeating:
    """Compresses what comes again and again once: after a full flush (RFC 1951) the same bytes may follow themselves."""

    def __init__(self) -> None:
        self.known: dict[bytes, bytes] = {}

    def compress(self, data: bytes) -> bytes:
        if data not in self.known:
            packer = zlib.compressobj(wbits=-zlib.MAX_WBITS)
            self.known[data] = packer.compress(data) + packer.flush(zlib.Z_FULL_FLUSH)
        return self.known[data]

    def flush(self) -> bytes:
        return zlib.compressobj(wbits=-zlib.MAX_WBITS).flush()
