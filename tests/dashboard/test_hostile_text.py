"""Text planted in records is shown and never obeyed: Markdown, images, links, formulas, directives, HTML."""

import re

import polars as pl
import pytest

from collection.store import Change, Store
from dashboard import tables, text
from schemas.fields import Term
from schemas.tables import RECORDS

IMAGE, LINK = "![x](http://evil.invalid/a.png)", "[click](http://evil.invalid/b)"
HOSTILE = [
    IMAGE, LINK, "$x^2$", ":red[red]", ":material/home:", ":smile:", "<img src=http://evil.invalid/c onerror=alert(1)>",
    "<script>alert(1)</script>", "http://evil.invalid/d", "www.evil.invalid", "a@evil.invalid", "**bold** _em_ `code`", "# h",
    "=HYPERLINK(\"http://evil.invalid\")", "+1", "-1", "@x", "'x", "|a|b|", "&lt;b&gt;", "~~gone~~", "a -> b",
]  # fmt: skip
PAGES = ("storeroom", "condition", "not_yet_seen", "backlog", "refused")


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


def test_line_breaks_end_no_paragraph():
    assert "\n" not in text.escaped("a\n\n# b\r\nc")


@pytest.mark.parametrize("words", HOSTILE)
def test_html_shows_it_as_text(words):
    assert not re.search(r"<(?!/?p\b)", text.paragraph(words))


@pytest.mark.parametrize("start", list("=+-@'\t\r"))
def test_a_download_runs_nothing(start):
    frame = pl.DataFrame({"Title": [f"{start}1+1"]})

    assert pl.read_csv(tables.csv(frame), infer_schema=False)["Title"][0] == f"'{start}1+1"


@pytest.fixture
def planted(store: Store, demonstration: Store) -> Store:
    """The demonstration's rows of a few objects, every free text replaced."""
    kept = demonstration.read()
    mine = kept["object"].head(40)["object_id"].implode()
    rows = {}
    for name, spec in RECORDS.items():
        if name in ("climate_reading", "journal"):
            continue
        frame = kept[name]
        free = _free(spec)
        if "object_id" in frame.columns and name != "option":
            frame = frame.filter(pl.col("object_id").is_in(mine))
        bad = " ".join(HOSTILE[:9])
        rows[name] = frame.select(*spec.schema().names()).with_columns(pl.lit(bad).alias(n) for n in free)
    store.write(Change({n: f for n, f in rows.items() if not f.is_empty()}), by="tester")
    return store


def _free(spec):
    """Columns of free text."""
    wordy = {"title", "culture", "period_text", "description", "condition_remark", "note", "reason", "summary_observed", "why",
             "position", "evidence", "precautions", "name", "what_it_shows", "settled_by", "materials"}  # fmt: skip
    named = [
        c.name
        for c in spec.columns
        if c.name in wordy and c.name not in spec.key and c.dtype == pl.String() and not c.mark(Term)
    ]
    return [] if spec.name in ("intake_file",) else named


@pytest.mark.parametrize("name", [*PAGES, "object"])
def test_planted_text_stays_text_on_every_page(page, planted, name, said):
    number = planted.read()["condition_check"]["object_id"][0]

    app = page(name, planted, **({"object_id": number} if name == "object" else {}))
    html = [h.proto.body for h in app.get("html") if not h.proto.body.startswith("<style>")]
    links = [link.proto.label for link in app.get("page_link")]
    markdown = "\n".join([*(m.value for m in app.markdown), *(t.value for t in app.title), *links])

    assert not app.exception
    assert "fault of the dashboard" not in said(app)
    assert not re.search(r"<(img|script)", "".join(html))
    assert not re.search(r"(?<!\\)(!\[|<img|<script|\$x|:red|http:/)", markdown)
