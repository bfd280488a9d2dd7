"""`enamels report` and `enamels verify` at the command line."""

import json
import shutil
from io import BytesIO
from pathlib import Path

import polars as pl
import pytest
from click.testing import CliRunner
from pypdf import PdfReader, PdfWriter

from collection.commands.report import report
from collection.commands.verify import verify
from collection.documents.attachment import NAME
from collection.store import Change, Store
from schemas.errors import NotFound, SourceRefused, Unsettable, WrongUsage
from tests.collection.documents.builders import small_collection

pytestmark = pytest.mark.usefixtures("assessed_once")


@pytest.fixture(scope="module")
def filled_once(tmp_path_factory):
    """A store with the small collection and one object whose title no font can set; to be copied."""
    small, store = small_collection(), Store(tmp_path_factory.mktemp("filled") / "enamels.duckdb")
    odd = pl.DataFrame({"object_id": ["V.0/ü"], "title": ["\U000f0000"]})
    store.write(Change(small | {"object": pl.concat([small["object"], odd], how="diagonal")}), by="tester")
    return store


@pytest.fixture
def filled(filled_once, tmp_path):
    shutil.copyfile(filled_once.path, tmp_path / "enamels.duckdb")
    return tmp_path


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """What the command answered of each of two reports, made once; to be read and never written to."""
    folder = tmp_path_factory.mktemp("made")
    Store(folder / "enamels.duckdb").write(Change(small_collection()), by="tester")
    return {r["object_id"]: r for r in json.loads(ask(folder, "V.1", "V.2", "--json").stdout)["reports"]}


def run(command, *arguments):
    return CliRunner().invoke(command, list(map(str, arguments)))


def ask(folder, *arguments):
    return run(
        report, *arguments, "--store", folder / "enamels.duckdb", "--out", folder / "out", "--as-of", "2026-09-30"
    )


def test_one_bad_object_does_not_stop_the_rest(filled):
    done = ask(filled, "--all", "--json")
    answer = json.loads(done.stdout)

    assert done.exit_code == Unsettable.code
    assert [r["object_id"] for r in answer["reports"]] == ["V.1", "V.2"]
    assert [(f["object_id"], f["error"]["code"]) for f in answer["failures"]] == [("V.0/ü", Unsettable.code)]
    assert sorted(p.name for p in (filled / "out").iterdir()) == [
        "V.1_outgoing_2026-09-30.pdf",
        "V.2_outgoing_2026-09-30.pdf",
    ]


def test_numbers_come_from_a_file_and_one_that_is_not_there_is_said(filled):
    (filled / "list.txt").write_text("V.2\n\nV.99\nV.2\n", "utf-8")
    done = ask(filled, "--from-file", filled / "list.txt", "--json")
    answer = json.loads(done.stdout)

    assert done.exit_code == NotFound.code
    assert [r["object_id"] for r in answer["reports"]] == ["V.2"]
    assert [f["object_id"] for f in answer["failures"]] == ["V.99"]


@pytest.mark.parametrize("arguments", [(), ("V.1", "--stage", "nonsense"), ("V.1", "--as-of", "soon")])
def test_what_cannot_be_understood_is_wrong_usage(filled, arguments):
    done = run(report, *arguments, "--store", filled / "enamels.duckdb", "--out", filled / "out")

    assert isinstance(done.exception, WrongUsage)


def test_a_report_verifies(made):
    path = made["V.1"]
    done = run(verify, path["path"], "--json")

    assert done.exit_code == 0
    assert json.loads(done.stdout)["sha256"] == path["sha256"]


def rewritten(data, attachment):
    writer = PdfWriter()
    for page in PdfReader(BytesIO(data)).pages:
        writer.add_page(page)
    if attachment is not None:
        writer.add_attachment(NAME, attachment)
    out = BytesIO()
    writer.write(out)
    return out.getvalue()


def test_other_data_under_the_same_pages_are_found_out(made, tmp_path):
    data = Path(made["V.1"]["path"]).read_bytes()
    (attached,) = PdfReader(BytesIO(data)).attachments[NAME]
    altered = tmp_path / "altered.pdf"
    altered.write_bytes(rewritten(data, attached.replace(b"Lifting", b"Unmoved")))
    done = run(verify, altered)

    assert done.exit_code == SourceRefused.code
    assert "do not rely on it" in done.output


def test_other_pages_over_the_same_data_are_found_out(made, tmp_path):
    pages = {number: Path(report["path"]).read_bytes() for number, report in made.items()}
    (attached,) = PdfReader(BytesIO(pages["V.1"])).attachments[NAME]
    altered = tmp_path / "altered.pdf"
    altered.write_bytes(rewritten(pages["V.2"], attached))

    assert run(verify, altered).exit_code == SourceRefused.code


def test_what_is_no_report_is_refused(made, tmp_path):
    bare = rewritten(Path(made["V.2"]["path"]).read_bytes(), None)
    for data in (b"", b"%PDF-1.7 nonsense", bare, rewritten(bare, b"{}")):
        (tmp_path / "x.pdf").write_bytes(data)
        assert isinstance(run(verify, tmp_path / "x.pdf").exception, SourceRefused)
    assert isinstance(run(verify, tmp_path / "none.pdf").exception, SourceRefused)
