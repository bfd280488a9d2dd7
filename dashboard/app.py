"""The dashboard's frame: the list of pages, the filters, one message when there is nothing to show.

Start it with `enamels dashboard`. Pages are run by Streamlit from `dashboard/views`.
"""

import traceback
from itertools import groupby
from operator import attrgetter

import streamlit as st

from collection.questions.triage import Triage
from collection.questions.words import day_in_words
from dashboard import data, filters, text, theme
from dashboard.gate import MISSING
from dashboard.pages import BRING_IN, PAGES, START, Page
from dashboard.views import parts
from schemas.errors import RegisterError, StoreBusy, StoreEmpty, StoreUnusable

NAME = "Enamel Register"
FILL = (
    "Bring in a catalogue on the page below, or in a terminal with `enamels intake FILE`;"
    " `enamels demo` shows an invented collection."
)


def main() -> None:
    """One run of the page the address names."""
    st.set_page_config(page_title=NAME, layout="wide")
    st.html(theme.css(parts.look()))
    listed = [st.Page(p.file, title=p.title, url_path=p.address, default=p is START) for p in PAGES]
    shown = st.navigation(listed, position="hidden")
    (page,) = (p for p in PAGES if p.title == shown.title)
    st.session_state[parts.PAGE] = page.address
    try:
        state = _read(page)
        if state.triage.objects.is_empty() and page.about_objects:
            _nothing("There is a store, and no object in it yet.")
            return
        _sidebar(state)
        _lead_back()
        shown.run()
        if page.filtered:
            filters.draw(state.triage)
    except StoreBusy as error:
        parts.say(f"{error.where}: {error.what}. {error.to_do}", "warn")
    except StoreEmpty as error:
        _nothing(f"{error.where}: {error.what}.")
    except StoreUnusable as error:
        _nothing(f"{error.where}: {error.what}.", error.to_do)
    except RegisterError as error:
        parts.say(str(error), "warn")
    except Exception:  # the edge: a bug still ends in a sentence
        traceback.print_exc()
        parts.say("This is a fault of the dashboard itself; what it was is in the window it was started from.", "warn")


def _read(page: Page) -> data.Snapshot:
    """The state of the register; nothing yet, for a page that needs no store, where there is none."""
    try:
        return data.read()
    except StoreEmpty:
        if page.needs_store:
            raise
        return data.nothing_yet()


def _lead_back() -> None:
    """A page that the address named and that there is none of."""
    if name := st.query_params.get(MISSING, ""):
        titles = ", ".join(page.address for page in PAGES)
        parts.say(f"There is no page '{name}'; this is the {START.title.lower()}. Pages: {titles}.", "warn")


def _sidebar(state: data.Snapshot) -> None:
    """The sidebar: whose register it is, pages, filters."""
    with st.sidebar:
        st.html(text.paragraph(NAME, "answer") + text.paragraph(whose(state.triage)))
        for group, pages in groupby(PAGES, attrgetter("group")):
            st.html(text.paragraph(group, "group"))
            for page in pages:
                st.page_link(page.file, label=page.title, query_params=filters.query())
    if state.old:
        parts.say(f"The register is being written to: {state.old}.", "warn")
    for warning in state.triage.warnings:
        parts.say(warning, "warn")


def whose(triage: Triage) -> str:
    """The museum, and that the collection is invented where it is."""
    its = triage.settings
    named = f"{its.museum or 'This register'}, {day_in_words(triage.as_of)}."
    return f"{named} {its.invented}." if its.invented else named


def _nothing(what: str, to_do: str = "") -> None:
    st.title(NAME, anchor=False)
    parts.say(what, "answer")
    st.markdown(FILL)
    st.page_link(BRING_IN.file, label=BRING_IN.title)
    if to_do:
        parts.say(to_do)


main()
