"""Files that are no tables, too large, or written to cost time: each ends in a sentence, in a time by its length."""

import csv
import os
import time
import zipfile
from datetime import date

import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from collection.intake.files import delimited, reader
from collection.intake.files.reader import read_sheets
from collection.intake.opening import open_files
from collection.intake.pipeline import examine
from collection.snapshot import Collection
from schemas.errors import SourceRefused


def test_pipes_devices_and_folders_are_refused_at_once(tmp_path):
    os.mkfifo(tmp_path / "pipe.csv")
    (tmp_path / "folder.csv").mkdir()
    for path in (tmp_path / "pipe.csv", tmp_path / "folder.csv", "/dev/zero", "/dev/full", tmp_path / "none.csv"):
        with pytest.raises(SourceRefused) as refused:
            next(read_sheets(type(tmp_path)(path)))
        assert refused.value.to_do


def test_a_file_beyond_the_largest_size_is_refused_before_it_is_read(tmp_path, monkeypatch):
    monkeypatch.setattr(reader, "MOST_BYTES", 100)
    (tmp_path / "o.csv").write_text("object_id\n" + "V.1\n" * 100, "utf-8")

    with pytest.raises(SourceRefused, match="at most 100 bytes"):
        next(read_sheets(tmp_path / "o.csv"))


def test_a_table_with_more_columns_than_a_spreadsheet_is_refused(write_csv):
    with pytest.raises(SourceRefused, match="16,385 columns"):
        next(read_sheets(write_csv("w.csv", ",".join(["object_id", *["x"] * 16_384]), "V.1" + "," * 16_384)))


def test_a_line_longer_than_any_row_is_one_refused_row(write_csv, judge):
    long = 'V.2,"' + "x" * (delimited.MOST_LINE + 1) + '"'

    judged = judge(write_csv("o.csv", "object_id,title", "V.1,Box", long, "V.3,Jug"))

    assert judged.answer.problems.filter(level="refuse").select("source_row", "rule").rows() == [(3, "line_too_long")]
    assert judged.rows("object")["object_id"].to_list() == ["V.1", "V.3"]


@pytest.mark.parametrize("line", ['V.1","x', 'V.1,"x', '"V.1', 'V.1,x"y"'])
def test_stray_quotes_cost_a_time_by_the_length_of_the_file(line, tmp_path):
    def seconds(lines: int) -> float:
        (tmp_path / f"{lines}.csv").write_text("object_id,title\n" + f"{line}\n" * lines, "utf-8")
        started = time.perf_counter()
        rows = sum(sheet.cells.height for sheet in read_sheets(tmp_path / f"{lines}.csv"))
        assert rows > 0
        return time.perf_counter() - started

    seconds(1_000)
    assert seconds(16_000) < max(8 * seconds(4_000), 2.0)  # four times the length; a square would be sixteen


def test_good_rows_behind_stray_quotes_are_still_read(write_csv, judge):
    bad = ['V.9","x'] * 200

    judged = judge(write_csv("o.csv", "object_id,title", *bad, "V.1,Box", 'V.2,"two\nlines"'))

    assert "V.1" in judged.rows("object")["object_id"].to_list()


def test_headings_over_two_lines_are_read(tmp_path, judge):
    (tmp_path / "o.csv").write_bytes(b'"Accession\nnumber",Title\nV.1,a\nV.2,"b\nc"\n')

    judged = judge(tmp_path / "o.csv")

    assert judged.rows("object")["title"].to_list() == ["a", "b\nc"]
    assert judged.answer.readings["source_row"].to_list() == [2, 3]


# letters of each page (invented words of the languages named), and how they must be read
PAGES = [
    ("cp1250", "Řehoř žlutý měděná krabička"),  # Czech
    ("cp1250", "Szkatułka z emalią, żółta, złocona"),  # Polish
    ("cp1252", "Boîte émaillée à décor de fleurs"),  # French
    ("cp1252", "Schälchen für Gewürz, größer"),  # German
    ("cp1252", "Förgylld dosa på fot"),  # Swedish
]


@pytest.mark.parametrize(("page", "title"), PAGES)
def test_central_european_letters_are_told_from_western_ones(page, title, write_csv, judge):
    judged = judge(write_csv("o.csv", "object_id;title", f"V.1;{title}", encoding=page))

    assert judged.rows("object")["title"].to_list() == [title]


def test_a_long_table_is_read_once_and_its_refused_rows_keep_their_cells(tmp_path, monkeypatch, bring_in):
    monkeypatch.setattr(delimited, "BATCH_ROWS", 10)
    monkeypatch.setattr(delimited, "BLOCK_BYTES", 50)
    lines = [f"V.{n},Piece {n}" for n in range(40)]
    lines[5], lines[35] = "../V.5,Piece", "V.3,Another piece"
    (tmp_path / "o.csv").write_text("object_id,title\n" + "\n".join(lines), "utf-8")

    result = bring_in(tmp_path / "o.csv")

    assert result.files.select("rows", "new", "refused").row(0) == (40, 38, 2)
    assert result.refused.select("source_row", "cells").rows() == [
        (7, '{"object_id":"../V.5","title":"Piece"}'),
        (37, '{"object_id":"V.3","title":"Another piece"}'),
    ]
    assert result.problems.filter(pl.col("level") == "refuse")["rule"].to_list() == [
        "number_as_path",
        "number_repeated",
    ]


ROWS = st.lists(
    st.tuples(
        st.sampled_from(["V.1", "V.2", "v.1", "V 3", "", "../7"]),
        st.sampled_from(["Box", "Jug", "", "x,y", 'a "b"', "two\nlines"]),
        st.sampled_from(["12", "tall", "1,5 cm", ""]),
    ),
    min_size=1,
    max_size=14,
)


@given(rows=ROWS, batch=st.integers(1, 5))
@settings(max_examples=12, deadline=None)
def test_a_table_read_in_parts_gives_what_it_gives_in_one(rows, batch, tmp_path_factory):
    path = tmp_path_factory.mktemp("parts") / "o.csv"
    with path.open("w", newline="", encoding="utf-8") as out:
        csv.writer(out).writerows([["object_id", "title", "height_mm"], *rows])

    whole = judged(path, delimited.BATCH_ROWS, delimited.BLOCK_BYTES)
    parts = judged(path, batch, 10)

    assert parts == whole


def judged(path, batch, block):
    empty = Collection.of({})
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(delimited, "BATCH_ROWS", batch)
        patch.setattr(delimited, "BLOCK_BYTES", block)
        try:
            answer = examine(open_files([path], empty), empty, by="t", today=date(2026, 9, 30)).answer
        except SourceRefused as refused:
            return refused.what
    return [frame.rows() for frame in (answer.files, answer.problems, answer.refused, answer.unread.cells)]


def test_sizes_without_a_unit_are_each_said_also_those_written_in_parts(store, bring_into, write_csv):
    path = write_csv("c.csv", "Object number,Height", "A-1,3 1/2", "A-2,9", "A-3,12cm", "A-4,4½")
    answer = bring_into(store, path)
    unread = answer.problems.filter(rule="size_not_read")

    assert sorted(unread["value"]) == ["3 1/2", "4½", "9"]
    assert store.read()["object"].sort("object_id")["height_mm"].to_list() == [None, None, 120.0, None]


OASIS = "urn:oasis:names:tc:opendocument:xmlns"
OPEN_DOCUMENT = (
    f'<office:document-content xmlns:office="{OASIS}:office:1.0" xmlns:table="{OASIS}:table:1.0"'
    f' xmlns:text="{OASIS}:text:1.0" office:version="1.2"><office:body><office:spreadsheet>'
    '<table:table table:name="List">{}</table:table></office:spreadsheet></office:body></office:document-content>'
)


MANIFEST = (
    f'<manifest:manifest xmlns:manifest="{OASIS}:manifest:1.0"><manifest:file-entry manifest:full-path="/"'
    ' manifest:media-type="application/vnd.oasis.opendocument.spreadsheet"/></manifest:manifest>'
)


def test_a_workbook_of_the_open_document_format_is_read(tmp_path, bring_in, store):
    """OASIS OpenDocument 1.2, part 1: tables, rows and cells of text (elements and attributes from memory)."""
    cell = '<table:table-cell office:value-type="string"><text:p>{}</text:p></table:table-cell>'
    lines = (("Inv. No.", "Title", "Technique"), ("EM 1", "Box", "Painted enamel on copper"))
    rows = "".join(f"<table:table-row>{''.join(map(cell.format, line))}</table:table-row>" for line in lines)
    path = tmp_path / "list.ods"
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        archive.writestr("META-INF/manifest.xml", MANIFEST)
        archive.writestr("content.xml", OPEN_DOCUMENT.format(rows))

    bring_in(path)

    assert store.read()["object"].select("object_id", "title", "technique").rows() == [("EM 1", "Box", ["painted"])]
