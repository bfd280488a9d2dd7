"""Filters live in the address. For every page and every filter: set by hand, the address alone shows another browser the same
sentence and hands it the same bytes; other pages, gone to by their links, count the same; and what a table or a
picture was sent is what its download holds, read from the bytes Streamlit serves.
"""

import io
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from itertools import cycle, pairwise
from typing import Any
from urllib.parse import parse_qsl

import polars as pl
import pytest
from polars.testing import assert_frame_equal
from streamlit.runtime.memory_media_file_storage import MemoryMediaFileStorage
from streamlit.testing.v1 import AppTest

from collection.questions.backlog import waiting_objects
from collection.questions.not_yet_checked import never_checked
from collection.questions.selection import FILTERS, PLACE, Selection, select
from dashboard import pages, theme
from dashboard.filters import KEYS

PAGES = tuple(its.address for its in pages.PAGES if its.filtered)
# The others: multiselect.
KINDS = {its.name: "selectbox" if its.name == PLACE else "text_input" for its in FILTERS if not its.labels()}
SHOWN = re.compile(r"Shown: ([\d,]+) of 640 objects \([^<]*")
FIGURES = "_figures"
TWO_FIGURES = 0.05  # of a number, the most by which two figures of it differ from it
AWKWARD = "50% & #1 + ä=\u201c~?/"  # what an address has to write otherwise
# Checked or not narrows to nothing on pages about one of the two: it has a test of its own.
NARROWING = [which for which in KEYS if which != "checked"]
# Every filter on the first page, and on the others one kind of widget in turn: all pages draw the same filters.
OF_EACH_KIND = ("find", "location_id", "attention")
EACH = pytest.mark.parametrize(
    ("name", "which"),
    [*((PAGES[0], f) for f in NARROWING), *zip(PAGES[1:], cycle(OF_EACH_KIND), strict=False)],
)


@dataclass(frozen=True)
class Sight:
    """A page with everything unfolded: frames as sent to the browser, by key, beside what the browser would save."""

    answer: str
    sentence: str
    widgets: Mapping[str, Any]
    sent: Mapping[str, pl.DataFrame]
    drawn: Mapping[str, pl.DataFrame]
    saved: Mapping[str, bytes]


@pytest.fixture(scope="module")
def served() -> Iterator[dict[str, bytes]]:
    """What Streamlit has been given to serve, by the number in its URL."""
    kept: dict[str, bytes] = {}
    real = MemoryMediaFileStorage.load_and_get_id

    def load(self: Any, data: bytes, *more: Any, **named: Any) -> str:
        number = real(self, data, *more, **named)
        kept[number] = bytes(data)
        return number

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(MemoryMediaFileStorage, "load_and_get_id", load)
        yield kept


@pytest.fixture(scope="module")
def value(found) -> Mapping[str, str]:
    """For each filter what is most frequent of what narrows and leaves objects on every page; two words to find."""
    objects = found.collection["object"]
    words = objects["title"].drop_nulls().str.split(" ").to_list()
    given = {
        "location_id": found.collection["location"]["within"],  # has places within it
        "technique": objects["technique"].explode(),
        "base_metal": objects["base_metal"],
        "attention": found.objects["attention"],
        "find": pl.Series([" ".join(pair) for title in words for pair in pairwise(title)]),
    }
    assert set(given) == set(NARROWING), "name here where a value of the new filter is to be found"
    return {which: next(v for v in _most_frequent(column) if _fits(found, which, v)) for which, column in given.items()}


@pytest.fixture(scope="module")
def looked() -> dict[Any, Sight]:
    """Pages opened fresh in this file, by address."""
    return {}


@pytest.fixture(scope="module")
def begun() -> dict[Any, AppTest]:
    """Pages on which a filter was set by hand in this file, by page and filter."""
    return {}


@pytest.fixture
def by_hand(page, value, begun, demonstration, monkeypatch) -> Callable[..., AppTest]:
    """A page on which this filter was set by hand: begun once, and gone on with by the test that goes elsewhere."""
    monkeypatch.setenv("ENAMELS_STORE", str(demonstration.path))  # for one that another test began

    def opened(name: str, which: str) -> AppTest:
        if (name, which) not in begun:
            begun[name, which] = page(name)
            _set(begun[name, which], which, value[which])
        return begun[name, which]

    return opened


@pytest.fixture
def sight(served, said, answer) -> Callable[[AppTest], Sight]:
    def seen(app: AppTest) -> Sight:
        assert not app.exception
        buttons = [b for b in app.get("download_button") if b.proto.id.endswith("_csv")]
        keys = [button.proto.id.split("-", 2)[2].removesuffix("_csv") for button in buttons]
        urls = [button.proto.url for button in buttons]
        charts = [_read(one.data) for chart in app.get("vega_lite_chart") for one in chart.proto.datasets]
        assert len(charts) == len(app.get("vega_lite_chart"))
        sent = dict(zip(keys, [_read(t.proto.arrow_data) for t in app.dataframe], strict=True))
        return Sight(
            answer=answer(app),
            sentence=_sentence(said(app)),
            widgets=_widgets(app),
            sent=sent,
            drawn=_by_figures({k: frame.height for k, frame in sent.items() if k.endswith(FIGURES)}, charts),
            saved={k: served[url.rpartition("/")[2].partition(".")[0]] for k, url in zip(keys, urls, strict=True)},
        )

    return seen


@pytest.fixture
def fresh(page, sight, looked) -> Callable[..., Sight]:
    """What a browser that has only the address sees; each address opened once."""

    def opened(name: str, **query: str) -> Sight:
        address = (name, *sorted(query.items()))
        if address not in looked:
            looked[address] = sight(page(name, unfolded=True, **query))
        return looked[address]

    return opened


@EACH
def test_the_address_alone_gives_the_same_sentence_and_the_same_bytes(by_hand, fresh, sight, value, found, name, which):
    app = by_hand(name, which)
    plain, here, address = fresh(name), sight(_unfold(app)), _address(app)

    there = fresh(name, **address)

    assert address == {which: value[which]}
    assert (there.answer, there.sentence) == (here.answer, here.sentence)
    assert there.saved == here.saved
    assert _count(here.sentence) == select(found, _asked(which, value[which])).height
    assert plain.sentence == ""
    assert here.answer != plain.answer
    assert here.saved.keys() & plain.saved.keys()
    assert not set(here.saved.values()) & set(plain.saved.values())
    assert "list" not in here.sent or here.sent["list"].height == _count(here.sentence)


@EACH
def test_another_browser_shows_the_filter_in_its_widget(fresh, value, name, which):
    nothing = {other: "" if other in KINDS else [] for other in KEYS}

    assert fresh(name).widgets == nothing
    assert fresh(name, **{which: value[which]}).widgets == {**nothing, which: _as_set(which, value[which])}


@EACH
def test_other_pages_count_the_same(by_hand, fresh, said, answer, value, name, which):
    app = by_hand(name, which)
    here = _sentence(said(app))

    for other in _in_turn(name, which):
        link = _follow(app, other)
        assert not app.exception
        assert link == _address(app) == {which: value[which]}
        assert _count(_sentence(said(app))) == _count(here)
        assert _sentence(said(app)) == here
        assert _widget(app, which).value == _as_set(which, value[which])
        assert answer(app) == fresh(other, **link).answer


@EACH
def test_what_is_saved_is_what_the_table_and_the_picture_were_sent(fresh, value, name, which):
    _check(fresh(name, **{which: value[which]}))


def test_what_is_saved_of_one_object_too(fresh):
    _check(fresh("object", object_id="1961.1"))


@pytest.mark.parametrize("name", PAGES[:2])
def test_several_filters_with_several_values_travel_together(page, fresh, sight, found, name):
    wanted = {"technique": ["painted", "cloisonne"], "base_metal": ["copper", "silver"], "find": "e"}
    wanted |= {"location_id": "VELL", "attention": ["not_checked", "act_secure", "act_move"]}
    app = page(name)
    for which, values in wanted.items():
        _set(app, which, values)
    here, address = sight(_unfold(app)), _address(app)

    asked = Selection.of(**{k: v if isinstance(v, str) else tuple(v) for k, v in wanted.items()})
    assert 0 < _count(here.sentence) == select(found, asked).height < 640
    assert _alike(fresh(name, **address), here)
    assert all(_count(fresh(o, **_links(app)[o]).sentence) == _count(here.sentence) for o in PAGES)


@pytest.mark.parametrize("name", PAGES)
@pytest.mark.parametrize("value", ["yes", "no"])
def test_checked_or_not_is_a_filter_like_the_others(page, found, said, name, value):
    app = page(name)
    _set(app, "checked", value)

    assert _address(app) == {"checked": value}
    assert _count(_sentence(said(app))) == found.coverage()["checked" if value == "yes" else "not_checked"]


def test_words_an_address_cannot_hold_as_they_are_travel_too(page, said):
    app = page()
    _set(app, "find", AWKWARD)

    assert _address(app) == {"find": AWKWARD}
    assert _count(_sentence(said(app))) == 0
    for other in PAGES:
        there = page(other, **_links(app)[other])
        assert _links(app)[other] == {"find": AWKWARD} == _links(there)[other]
        assert _widget(there, "find").value == AWKWARD
        assert _sentence(said(there)) == _sentence(said(app))


def _in_turn(name: str, which: str) -> list[str]:
    """Two of the other pages, in turn: from the first page each is gone to, and every page is gone to and left."""
    others = [page for page in PAGES if page != name]
    first = PAGES.index(name) + 2 * NARROWING.index(which)
    return [others[(first + n) % len(others)] for n in range(2)]


def _check(page: Sight) -> None:
    """Each table, and each picture by the table of its figures, against the bytes that are saved."""
    assert page.sent.keys() == page.saved.keys()
    assert {k for k in page.sent if k.endswith(FIGURES)} == page.drawn.keys() != set()
    assert all(frame.height for frame in (*page.sent.values(), *page.drawn.values()))
    for key, frame in page.sent.items():
        assert_frame_equal(_parsed(page.saved[key], frame.schema), frame, check_exact=True)
    for key, frame in page.drawn.items():
        saved = pl.read_csv(page.saved[key], infer_schema=False)
        assert saved.height == frame.height
        assert _not_drawn(saved, _with_shapes(frame)) == []


def _not_drawn(saved: pl.DataFrame, drawn: pl.DataFrame) -> list[str]:
    """Headings of what is saved and was not drawn: each column is one of those drawn, in their order; figures as they
    are or in per cent, with two figures of them.
    """
    left = iter(drawn.get_columns())
    return [column.name for column in saved.get_columns() if not any(_alike_in(column, its) for its in left)]


def _alike_in(saved: pl.Series, drawn: pl.Series) -> bool:
    if drawn.dtype != pl.Float64:
        return saved.to_frame().select(_typed(pl.col(saved.name), drawn.dtype, strict=False)).to_series().equals(drawn)
    read = saved.cast(pl.Float64, strict=False)
    of_both = [((read - drawn * times).abs() <= TWO_FIGURES * (drawn * times).abs()).all() for times in (1, 100)]
    return bool((read.is_null() == drawn.is_null()).all()) and any(of_both)


def _with_shapes(frame: pl.DataFrame) -> pl.DataFrame:
    """A class of attention is saved with its shape in front; a picture has words and shape apart."""
    if not {"attention", "label"} <= set(frame.columns):
        return frame
    marked = pl.Series("label", [theme.marked(term) for term in frame["attention"]])
    assert marked.str.ends_with(frame["label"]).all()
    return frame.with_columns(marked)


def _parsed(data: bytes, schema: Mapping[str, Any]) -> pl.DataFrame:
    """A CSV as the types it was made of, without the `'` that stops a spreadsheet."""
    read = pl.read_csv(data, infer_schema=False)
    assert read.columns == list(schema)
    return read.select(_typed(pl.col(name), kind) for name, kind in schema.items())


def _typed(text: pl.Expr, kind: Any, *, strict: bool = True) -> pl.Expr:
    if kind == pl.String:
        return text.str.replace("^'(.*)", "$1")
    return text.str.to_date("%Y-%m-%d", strict=strict) if kind == pl.Date else text.cast(kind, strict=strict)


def _alike(one: Sight, other: Sight) -> bool:
    return (one.answer, one.sentence, one.saved) == (other.answer, other.sentence, other.saved)


def _read(message: Any) -> pl.DataFrame:
    """The frame in a message; Streamlit makes a day midnight."""
    frame = pl.read_ipc_stream(io.BytesIO(message.data))
    return frame.with_columns(pl.col(pl.Datetime("ms")).cast(pl.Date))


def _by_figures(heights: Mapping[str, int], charts: list[pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """What was drawn, by the table of its figures: one table may tell of several small charts, in their order."""
    left, drawn = iter(charts), {}
    for key, height in heights.items():
        frames = [next(left)]
        while sum(frame.height for frame in frames) < height:
            frames.append(next(left))
        drawn[key] = pl.concat(frames)
    assert next(left, None) is None
    return drawn


def _most_frequent(column: pl.Series) -> list[str]:
    counted = column.drop_nulls().value_counts(name="n").sort(["n", column.name], descending=[True, False])
    return counted[column.name].to_list()


def _fits(found: Any, which: str, value: str) -> bool:
    """Narrows, with something looked at, something not, and something that waits."""
    rows = select(found, _asked(which, value))
    unseen = never_checked(rows).height
    return (
        rows.height < found.objects.height
        and min(rows.height - unseen, unseen, waiting_objects(found, rows).height) > 0
    )


def _asked(which: str, value: str) -> Selection:
    return Selection.of(**{which: value if which in KINDS else (value,)})


def _as_set(which: str, value: str) -> str | list[str]:
    return value if which in KINDS else [value]


def _widget(app: AppTest, which: str) -> Any:
    return getattr(app.sidebar, KINDS.get(which, "multiselect"))(key=KEYS[which])


def _widgets(app: AppTest) -> dict[str, Any]:
    """What each filter shows."""
    drawn = [*app.sidebar.text_input, *app.sidebar.selectbox, *app.sidebar.multiselect]
    return {which: widget.value for which, key in KEYS.items() for widget in drawn if widget.key == key}


def _set(app: AppTest, which: str, value: str | list[str]) -> None:
    """As by hand."""
    _widget(app, which).set_value([value] if isinstance(value, str) and which not in KINDS else value).run()
    assert not app.exception


def _address(app: AppTest) -> dict[str, Any]:
    return dict(app.query_params.items())


def _links(app: AppTest) -> dict[str, dict[str, str]]:
    """Parameters of the link to each page."""
    links = app.sidebar.get("page_link")
    return {k.proto.page or PAGES[0]: dict(parse_qsl(k.proto.query_string, strict_parsing=True)) for k in links}


def _follow(app: AppTest, name: str) -> dict[str, str]:
    """By the link in the sidebar, in the same session; its parameters take the place of the address's."""
    link = _links(app)[name]
    app.query_params.clear()
    app.query_params.update(link)
    app.switch_page(f"views/{name}.py").run()
    return link


def _unfold(app: AppTest) -> AppTest:
    for fold in app.expander:
        app.session_state[fold.key] = True
    app.run()
    assert not app.exception
    return app


def _sentence(words: str) -> str:
    told = SHOWN.search(words)
    return told.group(0) if told else ""


def _count(sentence: str) -> int:
    told = SHOWN.fullmatch(sentence)
    assert told, f"no count in {sentence!r}"
    return int(told.group(1).replace(",", ""))
