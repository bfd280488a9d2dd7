"""`enamels plan --out`: a page and a workbook with the figures of the answer, never over a file that is not ours."""

import io
import json

import openpyxl
import pytest

from collection.commands import plan
from collection.documents.attachment import read_attached
from collection.documents.words import sheet_heading, sheet_name
from schemas.errors import OutputRefused, WrongUsage

pytestmark = pytest.mark.usefixtures("assessed_once")


@pytest.fixture(scope="module")
def worked_out():
    """The plan of this file's one question, and how firm it is; the same question gives the same plan each time."""
    return {}


@pytest.fixture
def ask(enamels, demonstration, monkeypatch, worked_out):
    def once(name):
        work = getattr(plan, name)

        def asked(given):
            if name not in worked_out:
                worked_out[name] = work(given)
            return worked_out[name]

        return asked

    for name in ("_solved", "stability"):
        monkeypatch.setattr(plan, name, once(name))
    monkeypatch.setenv("ENAMELS_STORE", str(demonstration.path))
    return lambda *more: enamels("plan", "--years", "1", "--money", "2027=4000", *more)


def test_answer_workbook_and_page_hold_the_same_figures(ask, tmp_path):
    code, out, err = ask("--json", "--out", "papers/plan.pdf", "--out", "plan.xlsx")
    answered = json.loads(out)
    book = openpyxl.load_workbook(io.BytesIO((tmp_path / "plan.xlsx").read_bytes()))
    head, *lines = book[sheet_name("schedule")].iter_rows(values_only=True)
    columns = {heading: [line[n] for line in lines] for n, heading in enumerate(head)}
    listed = answered["lines"]
    document = read_attached((tmp_path / "papers" / "plan.pdf").read_bytes(), "plan.pdf").document
    printed = [row["option_id"] for block in document.blocks for row in block.rows if "option_id" in row]

    assert code == 0, err
    assert answered["files"] == ["papers/plan.pdf", "plan.xlsx"]
    assert columns[sheet_heading("option_id")] == [row["option_id"] for row in listed]
    for name in ("money", "hours"):
        assert columns[sheet_heading(name)] == pytest.approx([row[name] for row in listed])
    assert columns[sheet_heading("worth_percent")] == pytest.approx([row["worth"] * 100 for row in listed])
    assert set(printed) <= {row["option_id"] for row in listed}
    assert len(printed) == min(len(listed), 14)


def test_files_are_replaced_only_if_they_are_ours_and_when_asked_for(ask, tmp_path):
    assert ask("--out", "plan.xlsx")[0] == 0
    assert ask("--out", "plan.xlsx")[0] == OutputRefused.code
    assert ask("--out", "plan.xlsx", "--replace")[0] == 0
    (tmp_path / "plan.pdf").write_bytes(b"letters of 1912")

    assert ask("--out", "plan.pdf", "--replace")[0] == OutputRefused.code
    assert (tmp_path / "plan.pdf").read_bytes() == b"letters of 1912"


def test_a_file_that_may_not_be_written_to_is_refused_before_anything_is_worked_out(ask, tmp_path, monkeypatch):
    monkeypatch.setattr("collection.pipeline.assess_store", lambda *_: pytest.fail("it was worked out"))
    (tmp_path / "plan.pdf").write_bytes(b"letters of 1912")

    assert ask("--out", "plan.pdf", "--replace")[0] == OutputRefused.code


def test_another_ending_is_refused_before_anything_is_worked_out(ask, tmp_path):
    code, _, err = ask("--out", "plan.doc")

    assert code == WrongUsage.code
    assert "a name that ends in .pdf or .xlsx" in err
    assert not (tmp_path / "plan.doc").exists()
