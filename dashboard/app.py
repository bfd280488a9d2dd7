"""The dashboard's frame: the list of pages, the filters, one message when there is nothing to show.

Start it with `enamels dashboard`. Pages are run by Streamlit from `dashboard/views`.
"""

import traceback

import streamlit as st

from collection.questions.triage import Triage
from dashboard import data, filters, text, theme
from dashboard.views import parts
from schemas.errors import RegisterError, StoreBusy, StoreUnusable

NAME = "Enamel Register"
# File, title, address, whether the filters narrow it.
PAGES = (
    ("views/storeroom.py", "Storeroom", "storeroom", True),
    ("views/object.py", "Object", "object", False),
    ("views/condition.py", "Condition", "condition", True),
    ("views/not_yet_seen.py", "Not yet seen", "not_yet_seen", True),
    ("views/backlog.py", "Backlog", "backlog", True),
    ("views/refused.py", "Refused rows", "refused", False),
)
FILL = "Bring in a catalogue with `enamels intake FILE`, or look at an invented collection with `enamels demo`."


def main() -> None:
    """One run of the page the address names."""
    st.set_page_config(page_title=NAME, layout="wide")
    st.html(theme.css(parts.look()))
    listed = [st.Page(file, title=title, url_path=url, default=not n) for n, (file, title, url, _) in enumerate(PAGES)]
    page = st.navigation(listed, position="hidden")
    try:
        state = data.read()
        if state.triage.objects.is_empty() and page.title != PAGES[-1][1]:
            _nothing("There is a store, and no object in it yet.")
            return
        _beside(state)
        page.run()
        if {title: narrows for _, title, _, narrows in PAGES}[page.title]:
            filters.draw(state.triage)
    except StoreBusy as error:
        parts.say(f"{error.where}: {error.what}. {error.to_do}", "warn")
    except StoreUnusable as error:
        _nothing(f"{error.where}: {error.what}.", error.to_do)
    except RegisterError as error:
        parts.say(str(error), "warn")
    except Exception:  # the edge: a bug still ends in a sentence
        traceback.print_exc()
        parts.say("This is a fault of the dashboard itself; what it was is in the window it was started from.", "warn")


def _beside(state: data.Snapshot) -> None:
    """The sidebar: whose register it is, pages, filters."""
    with st.sidebar:
        st.html(text.paragraph(NAME, "answer") + text.paragraph(whose(state.triage)))
        for file, title, _, _ in PAGES:
            st.page_link(file, label=title, query_params=filters.query())
    if state.old:
        parts.say(f"The register is being written to: {state.old}.", "warn")


def whose(triage: Triage) -> str:
    """The museum, and that the collection is invented where it is."""
    invented = triage.settings.invented
    return f"{triage.settings.museum or 'This register'}, {triage.as_of:%Y-%m-%d}." + (
        f" {invented}." if invented else ""
    )


def _nothing(what: str, to_do: str = "") -> None:
    st.title(NAME, anchor=False)
    parts.say(what, "answer")
    st.markdown(FILL)
    if to_do and to_do not in FILL:
        parts.say(to_do)


main()
