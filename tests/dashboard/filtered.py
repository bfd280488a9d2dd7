"""Pages with filters: what the address, the widgets, the links and the sentence of a page say of them; a filter set as by hand."""

import re
from typing import Any
from urllib.parse import parse_qsl

from streamlit.testing.v1 import AppTest

from collection.questions.selection import FILTERS, PLACE, Selection
from dashboard import pages
from dashboard.filters import KEYS

PAGES = tuple(its.address for its in pages.PAGES if its.filtered)
# The others: multiselect.
KINDS = {its.name: "selectbox" if its.name == PLACE else "text_input" for its in FILTERS if not its.labels()}
SHOWN = re.compile(r"Shown: ([\d,]+) of 640 objects \([^<]*")


def selection_of(which: str, value: str) -> Selection:
    return Selection.of(**{which: value if which in KINDS else (value,)})


def as_set(which: str, value: str) -> str | list[str]:
    return value if which in KINDS else [value]


def widget_of(app: AppTest, which: str) -> Any:
    return getattr(app.sidebar, KINDS.get(which, "multiselect"))(key=KEYS[which])


def widgets_of(app: AppTest) -> dict[str, Any]:
    """What each filter shows."""
    drawn = [*app.sidebar.text_input, *app.sidebar.selectbox, *app.sidebar.multiselect]
    return {which: widget.value for which, key in KEYS.items() for widget in drawn if widget.key == key}


def set_by_hand(app: AppTest, which: str, value: str | list[str]) -> None:
    """Set a filter as a person does."""
    widget_of(app, which).set_value([value] if isinstance(value, str) and which not in KINDS else value).run()
    assert not app.exception


def address_of(app: AppTest) -> dict[str, Any]:
    return dict(app.query_params.items())


def links_of(app: AppTest) -> dict[str, dict[str, str]]:
    """Parameters of the link to each page."""
    links = app.sidebar.get("page_link")
    return {k.proto.page or PAGES[0]: dict(parse_qsl(k.proto.query_string, strict_parsing=True)) for k in links}


def follow(app: AppTest, name: str) -> dict[str, str]:
    """By the link in the sidebar, in the same session; its parameters take the place of the address's."""
    link = links_of(app)[name]
    app.query_params.clear()
    app.query_params.update(link)
    app.switch_page(f"views/{name}.py").run()
    return link


def unfold(app: AppTest) -> AppTest:
    for fold in app.expander:
        app.session_state[fold.key] = True
    app.run()
    assert not app.exception
    return app


def sentence_of(words: str) -> str:
    match = SHOWN.search(words)
    return match.group(0) if match else ""


def count_of(sentence: str) -> int:
    match = SHOWN.fullmatch(sentence)
    assert match, f"no count in {sentence!r}"
    return int(match.group(1).replace(",", ""))
