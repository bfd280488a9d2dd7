"""Commands that answer for loans or write a paper: exit 0, what was written, never over a file that is not ours."""

import io
import json
import os
import shutil
from datetime import date
from pathlib import Path

import openpyxl
import polars as pl
import pytest

from collection.commands import cli, verify
from collection.documents.attachment import read_attached
from collection.documents.comparison import compare
from collection.files import digest_of_bytes
from collection.store import Change, Store
from schemas.errors import NotFound, OutputRefused, WrongUsage
from tests.collection.documents.builders import frame, small_collection

pytestmark = pytest.mark.usefixtures("assessed_once")

DAY = "2026-09-30"
PAPERS = {
    "report": (("report", "V.1"), ["V.1_outgoing_2026-09-30.pdf"]),
    "short form": (("report", "V.1", "--short"), ["V.1_outgoing_2026-09-30_short.pdf"]),
    "cover list": (("cover", "L1"), ["cover_L1_2026-09-30.pdf"]),
    "card": (("card", "V.1", "V.2"), ["card_V.1_2026-09-30.pdf", "card_V.2_2026-09-30.pdf"]),
    "walk": (("walk", "--all"), ["walk_2026-09-30.pdf", "walk_2026-09-30.xlsx"]),
    "trustees": (("trustees",), ["trustees_2026-09-30.pdf"]),
}


@pytest.fixture(scope="module")
def museum(tmp_path_factory):
    """A store with the small collection, and what it answers; to be copied and never written to."""
    folder = tmp_path_factory.mktemp("museum")
    small = small_collection()
    placed = small["location"].with_columns(kind=pl.Series(["shelf", "room"]))
    asked = frame("loan", {"loan_id": "L2", "direction": "out", "borrower": "House of Tin"})
    loans = {"loan": pl.concat([small["loan"], asked], how="diagonal")}
    Store(folder / "enamels.duckdb").write(Change(small | loans | {"location": placed}), by="tester")
    return folder / "enamels.duckdb"


@pytest.fixture
def ask(enamels, museum, tmp_path, monkeypatch):
    """Run a command on a copy of the store."""
    store = tmp_path / "register.duckdb"
    shutil.copyfile(museum, store)
    monkeypatch.setenv("ENAMELS_STORE", str(store))
    return lambda *arguments: enamels(*arguments, "--as-of", DAY)


def files(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()} if folder.exists() else {}


WAYS_OUT = ("report", "card", "walk")  # one of each way a paper is written: a batch, a page, a page and a workbook


@pytest.mark.parametrize("kind", PAPERS)
def test_a_paper_is_written_named_verifies_and_stays(ask, tmp_path, kind, enamels, monkeypatch):
    arguments, names = PAPERS[kind]
    if kind != "report":  # the process that compares is there for any file alike
        monkeypatch.setattr(verify, "_compared", lambda file: compare(file.read_bytes(), str(file)))
    code, out, err = ask(*arguments, "--out", "papers")
    written = files(tmp_path / "papers")

    assert code == 0, err
    assert sorted(written) == sorted(names)
    assert all(f"papers/{name}" in out for name in names)
    for name in (name for name in names if name.endswith(".pdf")):
        assert read_attached(written[name], name).document.made_on == date(2026, 9, 30)
    assert enamels("verify", f"papers/{names[0]}")[0] == 0

    assert ask(*arguments, "--out", "papers")[0] == OutputRefused.code
    assert files(tmp_path / "papers") == written


@pytest.mark.parametrize("kind", PAPERS)
def test_a_file_that_is_not_ours_stays_even_where_replacing_is_asked_for(ask, tmp_path, kind):
    arguments, names = PAPERS[kind]
    (tmp_path / "papers").mkdir()
    for name in names:
        (tmp_path / "papers" / name).write_bytes(b"letters of 1912")

    code, _, err = ask(*arguments, "--out", "papers", "--replace")

    assert code == OutputRefused.code
    assert names[0] in err or kind in ("report", "short form")
    assert files(tmp_path / "papers") == dict.fromkeys(names, b"letters of 1912")


@pytest.mark.parametrize("kind", WAYS_OUT)
def test_what_an_earlier_run_wrote_is_replaced_when_asked_for(ask, tmp_path, kind):
    arguments, names = PAPERS[kind]
    assert ask(*arguments, "--out", "papers")[0] == 0
    earlier = tmp_path / "papers" / names[-1]
    os.utime(earlier, (0, 0))

    assert ask(*arguments, "--out", "papers", "--replace")[0] == 0
    assert sorted(files(tmp_path / "papers")) == sorted(names)
    assert earlier.stat().st_mtime > 0


@pytest.mark.parametrize("kind", WAYS_OUT)
def test_never_onto_the_store(museum, tmp_path, kind, enamels):
    arguments, names = PAPERS[kind]
    folder = tmp_path / "papers"
    folder.mkdir()
    store = folder / names[-1]
    shutil.copyfile(museum, store)
    before = digest_of_bytes(store.read_bytes())

    code, _, _ = enamels(*arguments, "--out", str(folder), "--replace", "--store", str(store), "--as-of", DAY)

    assert code == OutputRefused.code
    assert digest_of_bytes(store.read_bytes()) == before


def test_the_walk_as_a_workbook_holds_what_the_page_holds(ask, tmp_path):
    assert ask("walk", "--all", "--out", "papers")[0] == 0
    sheet = openpyxl.load_workbook(io.BytesIO(files(tmp_path / "papers")["walk_2026-09-30.xlsx"])).active
    heading, *rows = sheet.iter_rows(values_only=True)

    assert heading[:3] == ("place", "location_id", "object_id")
    assert [row[2] for row in rows] == ["V.1", "V.2"]  # what has no place comes last
    assert rows[0][0] == "Old Brewery: North strongroom"
    assert rows[1][0] == "place not recorded"


def test_a_walk_with_nothing_urgent_writes_nothing(ask, tmp_path):
    code, out, _ = ask("walk", "--find", "Box", "--out", "papers")

    assert code == 0
    assert "Nothing asked for needs attention now" in out
    assert files(tmp_path / "papers") == {}


@pytest.mark.parametrize(
    "arguments",
    [("cover", "L9"), ("card", "V.1", "V.9"), ("travel", "--loan", "L9"), ("report", "V.1", "--loan", "L9")],
    ids=" ".join,
)
def test_what_the_register_does_not_have_is_said_and_nothing_is_written(ask, tmp_path, arguments):
    out = () if arguments[0] == "travel" else ("--out", "papers")
    code, _, err = ask(*arguments, *out)

    assert code == NotFound.code
    assert arguments[-1] in err
    assert files(tmp_path / "papers") == {}


@pytest.mark.parametrize("kind", PAPERS)
def test_a_folder_is_not_named_like_a_file(ask, tmp_path, kind):
    arguments, names = PAPERS[kind]
    code, _, err = ask(*arguments, "--out", "mine.PDF")
    (tmp_path / "old.pdf").mkdir()

    assert code == WrongUsage.code
    assert "‘mine.PDF’ is the name of a file. Expected: a folder" in err
    assert not (tmp_path / "mine.PDF").exists()
    assert ask(*arguments, "--out", "old.pdf")[0] == 0, "a folder that is there may be called anything"
    assert set(names) <= set(files(tmp_path / "old.pdf"))


def test_travel_answers_with_verdict_reasons_and_what_would_make_it_fit(ask):
    code, out, _ = ask("travel", "V.1")
    words = " ".join(out.split())

    assert code == 0
    assert out.startswith(
        "Of 1 object 0 may travel as recorded, 0 under conditions; 1 is not to be packed as recorded."
    )
    assert "active lifting" in words
    assert "a conservator" in words
    assert "leaves 10 October 2026" in words


def test_of_an_unknown_number_the_others_are_answered_and_the_code_says_so(ask):
    code, out, _ = ask("travel", "V.9", "V.2", "V.1")
    as_json = json.loads(ask("travel", "V.9", "V.2", "V.1", "--json")[1])

    assert code == NotFound.code
    assert "V.9" in out
    assert [row["object_id"] for row in as_json["objects"]] == ["V.2", "V.1"]
    assert [failure["object_id"] for failure in as_json["failures"]] == ["V.9"]


def test_of_a_loan_all_its_objects_are_answered_for_that_loan(ask, tmp_path):
    answered = json.loads(ask("travel", "--loan", "L1", "--json")[1])
    (row,) = answered["objects"]

    assert (row["object_id"], row["loan_id"], row["verdict"]) == ("V.1", "L1", "not_fit")
    assert answered["as_of"] == DAY
    assert ask("travel", "--loan", "L2")[0] == WrongUsage.code  # no object is on it
    assert ask("travel")[0] == WrongUsage.code


def test_numbers_of_a_file_are_answered(ask, tmp_path):
    (tmp_path / "crate.txt").write_text("V.2\n\nV.1\n", "utf-8")
    answered = json.loads(ask("travel", "--from-file", "crate.txt", "--json")[1])

    assert [row["object_id"] for row in answered["objects"]] == ["V.2", "V.1"]


def test_reports_end_with_what_is_not_to_be_packed(ask):
    code, out, _ = ask("report", "V.1", "--short", "--out", "papers")

    assert code == 0
    assert "NOT TO BE PACKED AS RECORDED: V.1." in out


def test_the_commands_are_listed():
    assert {"travel", "cover", "card", "walk", "trustees"} <= set(cli.COMMANDS)
