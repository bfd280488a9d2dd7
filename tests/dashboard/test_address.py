"""Filters live in the address: for every page and filter the address alone gives another browser the same sentence and
the same downloads, each other page the same count; and what is drawn, shown and taken away is one frame."""

import io
import re
from urllib.parse import parse_qsl

import polars as pl
import pytest

from collection.questions.selection import Selection, select
from dashboard import tables

PAGES = ("storeroom", "condition", "not_yet_seen", "backlog")
FILTERS = ("location_id", "technique", "base_metal", "attention", "find")
SHOWN = re.compile(r"Shown: ([\d,]+) of 640 objects \([^<]*")
EACH = pytest.mark.parametrize(("name", "which"), [(n, f) for n in PAGES for f in FILTERS])


@pytest.fixture
def taken(monkeypatch):
    """Downloads in the order they were offered: frame as shown, bytes."""
    kept, real = [], tables.csv

    def csv(frame):
        kept.append((frame, real(frame)))
        return kept[-1][1]

    monkeypatch.setattr("dashboard.tables.csv", csv)
    return kept


@pytest.fixture
def value(found):
    """For each filter something that narrows and leaves objects on every page: the most frequent."""

    def most(column: str) -> str:
        given = found.collection["object"][column]
        return str((given.explode() if given.dtype == pl.List else given).drop_nulls().mode().sort()[0])

    picked = {"location_id": "E1", "technique": most("technique"), "base_metal": most("base_metal"), "find": "plaque"}
    return picked | {"attention": str(found.objects["attention"].mode().sort()[0])}


def whole(app, taken):
    """Run again with everything unfolded; the bytes of all downloads."""
    for fold in app.expander:
        app.session_state[fold.key] = True
    taken.clear()
    app.run()
    assert not app.exception
    return [data for _, data in taken]


def set_by_hand(app, which, value):
    side = app.sidebar
    if which == "find":
        side.text_input(key="filter_find").set_value(value).run()
    elif which == "location_id":
        side.selectbox(key="filter_location_id").set_value(value).run()
    else:
        side.multiselect(key=f"filter_{which}").set_value([value]).run()


def shown(words):
    return SHOWN.search(words).group(0)


@EACH
def test_the_address_alone_gives_the_same_sentence_and_downloads(page, said, answer, taken, value, found, name, which):
    app = page(name)
    plain = whole(app, taken)
    set_by_hand(app, which, value[which])
    here = whole(app, taken)
    address = {key: v[0] if isinstance(v, list) else v for key, v in app.query_params.items()}

    other = page(name, **address)
    there = whole(other, taken)
    asked = {which: value[which] if which in ("find", "location_id") else (value[which],)}

    assert address == {which: value[which]}
    assert (answer(other), shown(said(other))) == (answer(app), shown(said(app)))
    assert there == here != plain
    assert int(SHOWN.search(said(app)).group(1)) == select(found, Selection(**asked)).height


@EACH
def test_links_to_the_other_pages_lead_to_the_same_count(page, said, value, name, which):
    app = page(name, **{which: value[which]})
    links = {link.proto.page: dict(parse_qsl(link.proto.query_string)) for link in app.sidebar.get("page_link")}

    for other in PAGES:
        assert links["" if other == PAGES[0] else other] == {which: value[which]}
        assert shown(said(page(other, **links["" if other == PAGES[0] else other]))) == shown(said(app))


@pytest.mark.parametrize("name", [*PAGES, "object"])
def test_every_chart_is_drawn_from_the_frame_its_download_holds(page, taken, name):
    app = page(name, **({"object_id": "1961.1"} if name == "object" else {"location_id": "L2"}))
    whole(app, taken)
    drawn = [
        tables.shown(pl.read_ipc_stream(io.BytesIO(one.data.data)))
        for chart in app.get("vega_lite_chart")
        for one in chart.proto.datasets
    ]

    assert len(drawn) == len(app.get("vega_lite_chart")) > 0
    for frame in drawn:
        assert any(frame.equals(had) and tables.csv(frame) == data for had, data in list(taken))
