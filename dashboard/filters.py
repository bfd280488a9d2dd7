"""The filters: widgets and the address. The address is the only truth; widgets show it and write it.

Which filters there are is said once, in `collection.questions.selection.FILTERS`.
"""

from collections.abc import Mapping
from typing import Any
from urllib.parse import urlencode

import polars as pl
import streamlit as st

from collection.planning.asked import PREFIX
from collection.questions.places import path_name, tree
from collection.questions.selection import FILTERS, PLACE, Filter, Selection, asked_words, select, unknown_values
from collection.questions.triage import Triage
from collection.questions.words import shown_sentence

OBJECT, LOAN, SURVEY, DELIVERY = (
    "object_id",
    "loan_id",
    "survey_id",
    "delivery_id",
)  # further parameters an address may carry
KEYS = {its.name: f"filter_{its.name}" for its in FILTERS}


def asked() -> Selection:
    """What the address asks for."""
    return Selection.of_query(st.query_params.to_dict())


def chosen(triage: Triage) -> pl.DataFrame:
    """The objects that were asked for, in the one order."""
    return select(triage, asked())


def query(**further: str) -> Mapping[str, str]:
    """Parameters for a link, so that the filters go with it, and what was asked of the plan."""
    plan = {name: value for name, value in st.query_params.to_dict().items() if name.startswith(PREFIX)}
    return {**plan, **further, **asked().to_query()}


def address(page: str, **further: str) -> str:
    """A relative address of a page, filters in hand."""
    return f"{page}?{urlencode(query(**further))}"


def draw(triage: Triage) -> None:
    """Widgets of the filters, in the sidebar, as the address says."""
    _show(triage, asked())
    with st.sidebar:
        for its in FILTERS:
            _widget(its, triage)
        if asked() != Selection():
            st.button("Clear the filters", key="clear", on_click=_clear)


def _widget(its: Filter, triage: Triage) -> None:
    """A field for words, a list for places, a list of several for terms."""
    common: dict[str, Any] = {"key": KEYS[its.name], "on_change": _write}
    if its.name == PLACE:
        names = path_name(triage.collection["location"])
        places = ["", *tree(triage.collection["location"])]
        st.selectbox(its.label, places, format_func=lambda place: names.get(place, place) or "All places", **common)
    elif labels := its.labels():
        st.multiselect(its.label, list(labels), format_func=labels.__getitem__, placeholder="Any", **common)
    else:
        st.text_input(its.label, placeholder=its.hint, **common)


def sentences(triage: Triage) -> list[tuple[str, str]]:
    """Sentences with their kind: what the address asks for that the register has not; what is shown of how many."""
    selection = asked()
    lost = unknown_values(triage, selection)
    warnings = [(f"The address asks for something the register does not have: {what}.", "warn") for what in lost]
    shown = shown_sentence(triage, chosen(triage), asked_words(triage, selection))
    return [*warnings, (shown, "said")] if shown else warnings


def place(triage: Triage) -> str:
    """The place asked for, if the register has it; empty for everywhere."""
    return next((place for place in asked()[PLACE] if place in triage.places), "")


def without_place() -> Mapping[str, str]:
    """Parameters for a link to the same question asked of all places."""
    return {name: value for name, value in query().items() if name != PLACE}


def follow(event: Any, name: str, here: str) -> None:
    """A bar was chosen: ask for its place."""
    picked = [p.get(PLACE, "") for p in event.selection.get(name, [])]
    if picked and picked[0] not in ("", here):
        st.query_params[PLACE] = picked[0]
        st.rerun()


def object_asked(triage: Triage) -> str:
    """The object the address names, if the register has it."""
    named = st.query_params.get(OBJECT, "")
    return named if named in triage.objects[OBJECT] else ""


def to_object() -> None:
    """Write the object number typed into the address."""
    typed = str(st.session_state["object_number"]).strip()
    if typed:
        st.query_params[OBJECT] = typed


def _show(triage: Triage, selection: Selection) -> None:
    """Set the widgets to the address; what the register does not have cannot be shown in them."""
    for its in FILTERS:
        values = selection[its.name]
        if its.name == PLACE:
            st.session_state[KEYS[PLACE]] = place(triage)
        elif labels := its.labels():
            st.session_state[KEYS[its.name]] = [value for value in values if value in labels]
        else:
            st.session_state[KEYS[its.name]] = values[0] if values else ""


def _write() -> None:
    """Write the widgets into the address."""
    picked = Selection.of(**{name: st.session_state[key] for name, key in KEYS.items()})
    others = {k: v for k, v in st.query_params.to_dict().items() if k not in KEYS}
    st.query_params.from_dict({**others, **picked.to_query()})


def _clear() -> None:
    st.query_params.from_dict({k: v for k, v in st.query_params.to_dict().items() if k not in KEYS})
