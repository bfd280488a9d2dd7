"""Text planted in records is shown and never obeyed: Markdown, images, links, formulas, directives, HTML."""

import re
from io import BytesIO

import openpyxl
import polars as pl
import pytest

from collection.documents.sheet import workbook
from collection.store import Store
from dashboard import tables, text
from schemas.tables import RECORDS
from tests.dashboard.planted import EVERYTHING, HOSTILE, NOT_OURS_TO_WRITE, one_of_each, plant, text_columns

PAGES = ("storeroom", "condition", "not_yet_checked", "work_waiting", "loans", "not_taken_in", "object")
OBEYED = re.compile(r"(?<!\\)(!\[|<img|<script|\$x|:red|:material|http:/)")


@pytest.mark.parametrize("words", HOSTILE)
def test_every_mark_of_markdown_is_escaped_and_nothing_is_lost(words):
    # CommonMark 2.4: a backslash before ASCII punctuation makes it a letter like any other.
    safe = text.escaped(words)
    bare = re.sub(r"\\[!-/:-@\[-`{-~]", "", safe)

    assert not re.search(r"[!-/:-@\[-`{-~]", bare)
    assert re.sub(r"\\([!-/:-@\[-`{-~])", r"\1", safe).replace(text.JOINER, "") == words


@pytest.mark.parametrize("words", HOSTILE)
def test_nothing_is_left_for_the_plug_ins_that_come_after_markdown(words):
    shown = re.sub(r"\\(.)", r"\1", text.escaped(words))

    assert not re.search(r":[a-z_/+-]+:|:\w+\[|https?://|www\.|\w@\w|->|<-", shown)


@pytest.mark.parametrize("words", HOSTILE)
def test_the_name_of_a_field_holds_nothing_that_could_be_obeyed(words):
    assert not re.search(r"[\\`*_{}\[\]<>()#+!|~:$@&\"=]|www|->", text.spoken(words))


def test_line_breaks_end_no_paragraph():
    assert "\n" not in text.escaped("a\n\n# b\r\nc")


@pytest.mark.parametrize("words", HOSTILE)
def test_html_shows_it_as_text(words):
    assert not re.search(r"<(?!/?p\b)", text.paragraph(words))


@pytest.mark.parametrize("start", list("=+-@'\t\r"))
def test_a_download_runs_nothing(start):
    frame = pl.DataFrame({"Title": [f"{start}1+1"]})

    assert pl.read_csv(tables.csv(frame), infer_schema=False)["Title"][0] == f"'{start}1+1"


@pytest.mark.parametrize("words", ["=1+1", "http://evil.example", "+1", "00123", "é \N{BLACK SQUARE}"])
def test_a_workbook_holds_text_as_text(words):
    sheet = openpyxl.load_workbook(BytesIO(workbook(pl.DataFrame({"Title": [words], "n": [1.5]})))).active

    assert (sheet["A2"].value, sheet["A2"].data_type, sheet["A2"].hyperlink) == (words, "s", None)
    assert sheet["B2"].value == 1.5
    assert tables.csv(pl.DataFrame({"Title": [words]})).startswith(b"\xef\xbb\xbf")


@pytest.fixture(scope="module")
def planted(tmp_path_factory: pytest.TempPathFactory, demonstration: Store) -> tuple[Store, str, dict[str, list[str]]]:
    """A store of forty objects with every text replaced, the object told most of, and what was replaced."""
    store, kept = Store(tmp_path_factory.mktemp("planted") / "enamels.duckdb"), demonstration.read()
    most = kept["treatment"]["object_id"].drop_nulls()[0]
    return store, most, plant(demonstration, store, [most, *one_of_each(kept), *kept["object"]["object_id"].head(40)])


def test_every_text_column_of_the_demonstration_is_planted(planted, demonstration):
    kept, done = demonstration.read(), planted[2]
    filled = {r for r in RECORDS if r not in NOT_OURS_TO_WRITE and not kept[r].is_empty() and text_columns(r)}

    assert filled == set(done)
    assert sum(map(len, done.values())) > 60


@pytest.mark.parametrize("name", PAGES)
def test_planted_text_stays_text_on_every_page(page, planted, name, said):
    store, most, _ = planted

    app = page(name, store, unfolded=True, **({"object_id": most} if name == "object" else {}))
    html = "".join(h.proto.body for h in app.get("html") if not h.proto.body.startswith("<style>"))
    labels = [link.proto.label for link in app.get("page_link")] + [fold.label for fold in app.expander]
    markdown = "\n".join([*(m.value for m in app.markdown), *(t.value for t in app.title), *labels])

    assert not app.exception
    assert "fault of the dashboard" not in said(app)
    ours = re.compile(
        r'<a href="object\?[^"<>]*" target="_self">'
    )  # the only links made here: to the page of an object
    assert not re.search(r"<(img|script|a)\b", ours.sub("", html))
    assert not OBEYED.search(markdown)


def test_the_planted_text_is_on_the_pages_at_all(page, planted):
    store, most, _ = planted
    app = page("object", store, object_id=most)

    shown = app.title[0].value.replace(text.JOINER, "").replace("\\", "")

    assert EVERYTHING[:60] in shown
