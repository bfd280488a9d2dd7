"""`enamels report` and `enamels verify` at the command line."""

import json
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


@pytest.fixture
def filled(small, tmp_path):
    """A store with the small collection and one object whose title no font can set."""
    store = Store(tmp_path / "enamels.duckdb")
    odd = pl.DataFrame({"object_id": ["V.0/ü"], "title": ["\U000f0000"]})
    store.write(Change(small | {"object": pl.concat([small["object"], odd], how="diagonal")}), by="tester")
    return tmp_path


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


@pytest.mark.parametrize("arguments", [(), ("V.1", "--state", "nonsense"), ("V.1", "--as-of", "soon")])
def test_what_cannot_be_understood_is_wrong_usage(filled, arguments):
    done = run(report, *arguments, "--store", filled / "enamels.duckdb", "--out", filled / "out")

    assert isinstance(done.exception, WrongUsage)


def test_a_report_verifies(filled):
    path = json.loads(ask(filled, "V.1", "--json").stdout)["reports"][0]
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


def test_other_data_under_the_same_pages_are_found_out(filled):
    path = next(iter([r["path"] for r in json.loads(ask(filled, "V.1", "--json").stdout)["reports"]]))
    data = Path(path).read_bytes()
    (attached,) = PdfReader(BytesIO(data)).attachments[NAME]
    altered = filled / "altered.pdf"
    altered.write_bytes(rewritten(data, attached.replace(b"Lifting", b"Unmoved")))
    done = run(verify, altered)

    assert done.exit_code == SourceRefused.code
    assert "do not rely on it" in done.output


def test_other_pages_over_the_same_data_are_found_out(filled):
    made = {
        r["object_id"]: Path(r["path"]).read_bytes()
        for r in json.loads(ask(filled, "V.1", "V.2", "--json").stdout)["reports"]
    }
    (attached,) = PdfReader(BytesIO(made["V.1"])).attachments[NAME]
    altered = filled / "altered.pdf"
    altered.write_bytes(rewritten(made["V.2"], attached))

    assert run(verify, altered).exit_code == SourceRefused.code


def test_what_is_no_report_is_refused(filled):
    made = json.loads(ask(filled, "V.2", "--json").stdout)["reports"][0]["path"]
    bare = rewritten(Path(made).read_bytes(), None)
    for data in (b"", b"%PDF-1.7 nonsense", bare, rewritten(bare, b"{}")):
        (filled / "x.pdf").write_bytes(data)
        assert isinstance(run(verify, filled / "x.pdf").exception, SourceRefused)
    assert isinstance(run(verify, filled / "none.pdf").exception, SourceRefused)
