"""Filters live in the address. For every page and every filter: set by hand, the address alone shows another browser the same
sentence and hands it the same bytes; other pages, gone to by their links, count the same; and what a table or a
picture was sent is what its download holds, read from the bytes Streamlit serves.
"""

from collections.abc import Callable, Iterator, Mapping
from itertools import cycle, pairwise
from typing import Any

import polars as pl
import pytest
from streamlit.runtime.memory_media_file_storage import MemoryMediaFileStorage
from streamlit.testing.v1 import AppTest

from collection.questions.backlog import waiting_objects
from collection.questions.not_yet_checked import never_checked
from collection.questions.selection import Selection, select
from dashboard.filters import KEYS
from tests.dashboard.filtered import (
    KINDS,
    PAGES,
    address_of,
    as_set,
    count_of,
    follow,
    links_of,
    selection_of,
    sentence_of,
    set_by_hand,
    unfold,
    widget_of,
    widgets_of,
)
from tests.dashboard.sights import FIGURES, Sight, alike, by_figures, check_saved, frame_in

AWKWARD = "50% & #1 + ä=\u201c~?/"  # what an address has to write otherwise
# Checked or not narrows to nothing on pages about one of the two: it has a test of its own.
NARROWING = [which for which in KEYS if which != "checked"]
# Every filter on the first page, and on the others one kind of widget in turn: all pages draw the same filters.
OF_EACH_KIND = ("find", "location_id", "attention")
EACH = pytest.mark.parametrize(
    ("name", "which"),
    [*((PAGES[0], f) for f in NARROWING), *zip(PAGES[1:], cycle(OF_EACH_KIND), strict=False)],
)


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
            set_by_hand(begun[name, which], which, value[which])
        return begun[name, which]

    return opened


@pytest.fixture
def sight(served, said, answer) -> Callable[[AppTest], Sight]:
    def seen(app: AppTest) -> Sight:
        assert not app.exception
        buttons = [b for b in app.get("download_button") if b.proto.id.endswith("_csv")]
        keys = [button.proto.id.split("-", 2)[2].removesuffix("_csv") for button in buttons]
        urls = [button.proto.url for button in buttons]
        charts = [frame_in(one.data) for chart in app.get("vega_lite_chart") for one in chart.proto.datasets]
        assert len(charts) == len(app.get("vega_lite_chart"))
        sent = dict(zip(keys, [frame_in(t.proto.arrow_data) for t in app.dataframe], strict=True))
        return Sight(
            answer=answer(app),
            sentence=sentence_of(said(app)),
            widgets=widgets_of(app),
            sent=sent,
            drawn=by_figures({k: frame.height for k, frame in sent.items() if k.endswith(FIGURES)}, charts),
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
    plain, here, address = fresh(name), sight(unfold(app)), address_of(app)

    there = fresh(name, **address)

    assert address == {which: value[which]}
    assert (there.answer, there.sentence) == (here.answer, here.sentence)
    assert there.saved == here.saved
    assert count_of(here.sentence) == select(found, selection_of(which, value[which])).height
    assert plain.sentence == ""
    assert here.answer != plain.answer
    assert here.saved.keys() & plain.saved.keys()
    assert not set(here.saved.values()) & set(plain.saved.values())
    assert "list" not in here.sent or here.sent["list"].height == count_of(here.sentence)


@EACH
def test_another_browser_shows_the_filter_in_its_widget(fresh, value, name, which):
    nothing = {other: "" if other in KINDS else [] for other in KEYS}

    assert fresh(name).widgets == nothing
    assert fresh(name, **{which: value[which]}).widgets == {**nothing, which: as_set(which, value[which])}


@EACH
def test_other_pages_count_the_same(by_hand, fresh, said, answer, value, name, which):
    app = by_hand(name, which)
    here = sentence_of(said(app))

    for other in _in_turn(name, which):
        link = follow(app, other)
        assert not app.exception
        assert link == address_of(app) == {which: value[which]}
        assert count_of(sentence_of(said(app))) == count_of(here)
        assert sentence_of(said(app)) == here
        assert widget_of(app, which).value == as_set(which, value[which])
        assert answer(app) == fresh(other, **link).answer


@EACH
def test_what_is_saved_is_what_the_table_and_the_picture_were_sent(fresh, value, name, which):
    check_saved(fresh(name, **{which: value[which]}))


def test_what_is_saved_of_one_object_too(fresh):
    check_saved(fresh("object", object_id="1961.1"))


@pytest.mark.parametrize("name", PAGES[:2])
def test_several_filters_with_several_values_travel_together(page, fresh, sight, found, name):
    wanted = {"technique": ["painted", "cloisonne"], "base_metal": ["copper", "silver"], "find": "e"}
    wanted |= {"location_id": "VELL", "attention": ["not_checked", "act_secure", "act_move"]}
    app = page(name)
    for which, values in wanted.items():
        set_by_hand(app, which, values)
    here, address = sight(unfold(app)), address_of(app)

    asked = Selection.of(**{k: v if isinstance(v, str) else tuple(v) for k, v in wanted.items()})
    assert 0 < count_of(here.sentence) == select(found, asked).height < 640
    assert alike(fresh(name, **address), here)
    assert all(count_of(fresh(o, **links_of(app)[o]).sentence) == count_of(here.sentence) for o in PAGES)


@pytest.mark.parametrize("name", PAGES)
@pytest.mark.parametrize("value", ["yes", "no"])
def test_checked_or_not_is_a_filter_like_the_others(page, found, said, name, value):
    app = page(name)
    set_by_hand(app, "checked", value)

    assert address_of(app) == {"checked": value}
    assert count_of(sentence_of(said(app))) == found.coverage()["checked" if value == "yes" else "not_checked"]


def test_words_an_address_cannot_hold_as_they_are_travel_too(page, said):
    app = page()
    set_by_hand(app, "find", AWKWARD)

    assert address_of(app) == {"find": AWKWARD}
    assert count_of(sentence_of(said(app))) == 0
    for other in PAGES:
        there = page(other, **links_of(app)[other])
        assert links_of(app)[other] == {"find": AWKWARD} == links_of(there)[other]
        assert widget_of(there, "find").value == AWKWARD
        assert sentence_of(said(there)) == sentence_of(said(app))


def _in_turn(name: str, which: str) -> list[str]:
    """Two of the other pages, in turn: from the first page each is gone to, and every page is gone to and left."""
    others = [page for page in PAGES if page != name]
    first = PAGES.index(name) + 2 * NARROWING.index(which)
    return [others[(first + n) % len(others)] for n in range(2)]


def _most_frequent(column: pl.Series) -> list[str]:
    counted = column.drop_nulls().value_counts(name="n").sort(["n", column.name], descending=[True, False])
    return counted[column.name].to_list()


def _fits(found: Any, which: str, value: str) -> bool:
    """Narrows, with something looked at, something not, and something that waits."""
    rows = select(found, selection_of(which, value))
    unseen = never_checked(rows).height
    return (
        rows.height < found.objects.height
        and min(rows.height - unseen, unseen, waiting_objects(found, rows).height) > 0
    )
