"""Hostile files: each case names its rule, column and row; a good row beside it is accepted; nothing is dropped."""

import io
import os
import subprocess
import sys
import zipfile
import zlib
from pathlib import Path

import openpyxl
import polars as pl
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from collection.intake.files.delimited import TextTable
from collection.intake.files.reader import read_sheets
from collection.store import Store
from schemas.errors import SourceRefused

HEAD = "object_id,title,technique,base_metal,height_mm,earliest_year,condition_remark_on"
GOOD = "V.1,Plaque,painted,copper,120,1750,1986"

# name of the case, the bad row, rule, column
ROWS = [
    ("too few cells", "V.2,Bowl", "ragged_row", None),
    ("too many cells", "V.2,Bowl,painted,copper,1,1750,1986,extra,extra", "ragged_row", None),
    ("a quote that never closes", 'V.2,"Bowl,painted,copper,1,1750,1986', "stray_quote", None),
    ("a quote inside a quoted cell", 'V.2,"Bo"wl",painted,copper,1,1750,1986', "stray_quote", None),
    ("no number", ",Bowl,painted,copper,1,1750,1986", "missing_value", "object_id"),
    ("a number in other case", "v.1,Bowl,painted,copper,1,1750,1986", "number_differs_in_case", "object_id"),
    (
        "a number in full-width letters",
        "\uff36.1,Bowl,painted,copper,1,1750,1986",
        "number_differs_in_case",
        "object_id",
    ),
    ("a number repeated with other content", "V.1,Bowl,painted,copper,1,1750,1986", "number_repeated", "object_id"),
    ("a path", "../../etc/passwd,Bowl,painted,copper,1,1750,1986", "number_as_path", "object_id"),
    ("a Windows path", "C:\\Windows\\x,Bowl,painted,copper,1,1750,1986", "number_as_path", "object_id"),
    ("a control character", "V.\x072,Bowl,painted,copper,1,1750,1986", "control_character", "object_id"),
    (
        "a character that turns the direction",
        "V.\u202e2,Bowl,painted,copper,1,1750,1986",
        "control_character",
        "object_id",
    ),
    ("a cell of 20 MB", f"V.2,{'x' * 20_000_000},painted,copper,1,1750,1986", "cell_too_long", "title"),
    ("a cell one letter too long", f"V.2,{'x' * 32_768},painted,copper,1,1750,1986", "cell_too_long", "title"),
]


@pytest.mark.parametrize(("row", "rule", "column"), [r[1:] for r in ROWS], ids=[r[0] for r in ROWS])
def test_a_bad_row_is_refused_by_its_rule_and_the_good_ones_beside_it_are_taken(row, rule, column, write_csv, judge):
    judged = judge(write_csv("hostile.csv", HEAD, GOOD, row, "V.3,Vase,cloisonne,copper,90,1800,1990"))

    result = judged.answer
    refused = result.problems.filter(pl.col("level") == "refuse").select("source_row", "rule", "column").rows()
    assert refused == [(3, rule, column)]
    assert judged.rows("object")["object_id"].to_list() == ["V.1", "V.3"]
    assert judged.rows("refused_row")["source_row"].to_list() == [3]
    assert result.refused["source_row"].to_list() == [3]
    said = result.problems.filter(pl.col("level") == "refuse").row(0, named=True)
    assert said["words"]
    assert said["expected"]
    assert said["to_do"]


CELLS = st.lists(st.sampled_from(["", "a", "\u00e9", " "]), min_size=1, max_size=5)


@settings(max_examples=300, deadline=None)
@given(lines=st.lists(st.one_of(st.just(["x", "y", "z"]), CELLS), min_size=1, max_size=6), ended=st.booleans())
@example(lines=[["x", "y", "z"], ["x", "y", "z", ""]], ended=False)
@example(lines=[["x", "y", "z"], ["x", "y"], [""]], ended=True)
def test_a_line_without_quotes_is_what_stands_between_its_delimiters_and_one_of_another_width_is_named(lines, ended):
    data = b"h\n" + ("\n".join(map(",".join, lines)) + "\n" * ended).encode()
    expected = lines if ended or lines[-1] != [""] else lines[:-1]  # what ends without a line end is no line if empty

    parts = list(TextTable(data, ",", 3).rows(len(b"h\n"), 2))

    rows = [row[:3] for part in parts for frame in part.frames for row in frame.rows()]
    assert rows == [tuple(cell or None for cell in [*line, "", ""][:3]) for line in expected]
    uneven = [number for number, line in enumerate(expected, 2) if len(line) != 3 and line != [""]]
    assert [number for part in parts for number, *_ in part.faults] == uneven


# name of the case, the row with one odd cell that may be empty, rule, column
ODD_CELLS = [
    ("too large a number", "V.2,Bowl,painted,copper,1e308,1750,1986", "impossible_number", "height_mm"),
    ("beyond every number", "V.2,Bowl,painted,copper,1e999,1750,1986", "impossible_number", "height_mm"),
    ("not a number", "V.2,Bowl,painted,copper,NaN,1750,1986", "impossible_number", "height_mm"),
    ("infinite", "V.2,Bowl,painted,copper,inf,1750,1986", "impossible_number", "height_mm"),
    ("negative", "V.2,Bowl,painted,copper,-3,1750,1986", "impossible_number", "height_mm"),
    ("words for a number", "V.2,Bowl,painted,copper,tall,1750,1986", "impossible_number", "height_mm"),
    ("a unit nobody knows", "V.2,Bowl,painted,copper,12 cubits,1750,1986", "unknown_unit", "height_mm"),
    ("year 0", "V.2,Bowl,painted,copper,1,0,1986", "year_zero", "earliest_year"),
    ("a day that never was", "V.2,Bowl,painted,copper,1,1750,2023-02-29", "impossible_date", "condition_remark_on"),
    ("a thirteenth month", "V.2,Bowl,painted,copper,1,1750,1972-13", "impossible_date", "condition_remark_on"),
    ("a term nobody knows", "V.2,Bowl,painted,kryptonite,1,1750,1986", "unknown_term", "base_metal"),
]


@pytest.mark.parametrize(("row", "rule", "column"), [r[1:] for r in ODD_CELLS], ids=[r[0] for r in ODD_CELLS])
def test_one_odd_cell_that_may_be_empty_is_left_empty_and_asked_about_and_its_row_is_taken(
    row, rule, column, write_csv, judge
):
    judged = judge(write_csv("odd.csv", HEAD, GOOD, row))

    result = judged.answer
    (problem,) = result.problems.filter(pl.col("source_row") == 3).to_dicts()
    assert (problem["rule"], problem["column"], problem["level"]) == (rule, column, "ask")
    assert problem["words"]
    assert problem["expected"]
    assert problem["to_do"]
    held = judged.rows("object").filter(object_id="V.2")
    assert held[column].to_list() == [None]
    assert held["title"].to_list() == ["Bowl"]
    assert result.unread.cells.select("column", "cells").rows() == [(column, 1)]
    assert result.code == 0


MARKUP = [
    "<script>alert(1)</script>",
    "![x](http://example.invalid/y.png)",
    ":red[x] $x^2$",
    "#set page(width: 1mm)",
    "=1+1",
    "+49 30",
    "@SUM(A1)",
]


@pytest.fixture(scope="module")
def titles(tmp_path_factory, bring_into):
    """Titles that are markup, by the number of their object, after they were brought in."""
    folder = tmp_path_factory.mktemp("markup")
    rows = (f'{number},"{markup}"' for number, markup in enumerate(MARKUP))
    (folder / "m.csv").write_text("\n".join(["object_id,title", *rows]), "utf-8")
    bring_into(Store(folder / "enamels.duckdb"), folder / "m.csv")
    return dict(Store(folder / "enamels.duckdb").read()["object"].select("object_id", "title").rows())


@pytest.mark.parametrize("markup", MARKUP)
def test_markup_is_text_like_any_other(markup, titles):
    assert titles[str(MARKUP.index(markup))] == markup


# name, bytes of the file, what the sentence says
FILES = [
    ("empty", b"", "the file is empty"),
    ("blank", b" \n \n", "the file is empty"),
    ("header only", b"object_id,title\n", "no row below the headings"),
    ("no header", b"12,red,glass\n13,blue,glass\n", None),
    ("a picture", b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR" + bytes(200), "not a text table"),
    ("a zip that is no workbook", None, "not a workbook"),
]


@pytest.mark.parametrize(("data", "says"), [f[1:] for f in FILES], ids=[f[0] for f in FILES])
def test_a_file_that_gives_no_row_is_refused_in_a_sentence(data, says, tmp_path, answer_to):
    path = tmp_path / "odd.csv"
    path.write_bytes(data if data is not None else zipped({"a.txt": b"x"}))

    with pytest.raises(SourceRefused) as refused:
        answer_to(path)

    assert refused.value.expected
    assert refused.value.to_do
    assert says is None or says in str(refused.value)


def test_the_next_file_is_read_after_a_refused_one(write_csv, answer_to, tmp_path):
    bad = tmp_path / "bad.csv"
    bad.write_bytes(b"")

    result = answer_to(bad, write_csv("good.csv", HEAD, GOOD))

    assert result.files["new"].to_list() == [1]
    assert result.code == SourceRefused.code


@pytest.mark.parametrize(
    ("encoding", "note"),
    [("utf-8-sig", False), ("utf-16", False), ("cp1252", True), ("latin-1", True), ("utf-8", False)],
)
def test_encodings_are_read_and_a_guess_is_said(encoding, note, write_csv, judge):
    lines = [
        "object_id,title",
        "V.1,Boîte émaillée à décor de fleurs",
        "V.2,Schälchen für Gewürz",
        "V.3,Très beau coffret",
    ]

    judged = judge(write_csv("e.csv", *lines, encoding=encoding))

    assert judged.rows("object")["title"].to_list() == [line.split(",")[1] for line in lines[1:]]
    assert ("encoding_guessed" in judged.answer.problems["rule"].to_list()) is note


def test_of_mixed_encodings_only_the_cells_with_foreign_bytes_suffer(tmp_path, judge):
    path = tmp_path / "mixed.csv"
    lines = ["object_id,title", "V.1,Schälchen für Gewürze, größer".replace(", ", " "), "V.2,plain"]
    path.write_bytes("\n".join(lines).encode() + b"\nV.3,Bo\xeete\n")

    judged = judge(path)

    held = judged.rows("object")
    assert held["object_id"].to_list() == ["V.1", "V.2", "V.3"]
    assert held["title"][2] is None
    assert judged.answer.problems.filter(pl.col("level") == "ask").select(
        "source_row", "rule", "column", "value"
    ).rows() == [(4, "unreadable_letters", "title", "Bo\ufffdte")]


def test_ten_thousand_columns_are_read_and_the_few_known_ones_taken(write_csv, bring_in, store):
    extra = [f"x{i}" for i in range(10_000)]

    bring_in(
        write_csv("wide.csv", ",".join(["object_id", "title", *extra]), ",".join(["V.1", "Plaque", *["1"] * 10_000]))
    )

    assert store.read()["object"]["title"].to_list() == ["Plaque"]


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
def test_delimiters_are_found(delimiter, write_csv, judge):
    rows = [["object_id", "title", "height_mm"], ["V.1", "Plaque; small, blue", "12"]]
    lines = [delimiter.join(f'"{c}"' for c in row) for row in rows]

    judged = judge(write_csv("d.txt", *lines))

    assert judged.rows("object").select("title", "height_mm").rows() == [("Plaque; small, blue", 12.0)]


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


def zipped(files: dict[str, bytes]) -> bytes:
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w") as archive:
        for name, content in files.items():
            archive.writestr(name, content)
    return data.getvalue()


def test_reading_leaves_the_file_alone(write_csv):
    path = write_csv("a.csv", HEAD, GOOD)
    before = (path.read_bytes(), os.stat(path).st_mtime_ns)

    list(read_sheets(path))

    assert (path.read_bytes(), os.stat(path).st_mtime_ns) == before
