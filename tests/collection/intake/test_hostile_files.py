"""Hostile files as a whole: what gives no row is refused in a sentence, the next one is read; encodings, delimiters and widths."""

import io
import os
import zipfile

import polars as pl
import pytest

from collection.intake.files.reader import read_sheets
from schemas.errors import SourceRefused
from tests.collection.intake.small_catalogue import GOOD, HEAD

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
