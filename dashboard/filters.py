"""The filters: widgets and the address. The address is the only truth; widgets show it and write it."""

from collections.abc import Mapping
from typing import Any

import polars as pl
import streamlit as st

from collection.questions.places import path_name, tree
from collection.questions.selection import Selection, asked_words, select, unknown_values
from collection.questions.triage import Triage
from collection.questions.words import shown_sentence
from schemas.vocabularies import vocabulary

OBJECT = "object_id"  # the one further parameter an address may carry
ANYWHERE = ""
KEYS = {name: f"filter_{name}" for name in ("location_id", "technique", "base_metal", "attention", "find")}
VOCABULARIES = {"technique": "technique", "base_metal": "metal", "attention": "attention"}


def asked() -> Selection:
    """What the address asks for."""
    return Selection.of_query(st.query_params.to_dict())


def chosen(found: Triage) -> pl.DataFrame:
    """The objects that were asked for, in rank order."""
    return select(found, asked())


def query(**further: str) -> Mapping[str, str]:
    """Parameters for a link, so that the filters go with it."""
    return {**further, **asked().to_query()}


def draw(found: Triage) -> None:
    """Widgets of the filters, in the sidebar, as the address says."""
    _show(found, asked())
    places = tree(found.collection["location"])
    with st.sidebar:
        st.text_input("Find in number and title", key=KEYS["find"], on_change=_write)
        names = path_name(found.collection["location"])
        st.selectbox(
            "Place",
            [ANYWHERE, *places],
            format_func=lambda place: names.get(place, place) if place else "All places",
            key=KEYS["location_id"],
            on_change=_write,
        )
        for name, label in (("technique", "Technique"), ("base_metal", "Base metal"), ("attention", "Attention")):
            labels = vocabulary(VOCABULARIES[name]).labels()
            st.multiselect(
                label, list(labels), format_func=labels.__getitem__, key=KEYS[name], on_change=_write, placeholder="Any"
            )
        if asked() != Selection():
            st.button("Clear the filters", key="clear", on_click=_clear)


def said(found: Triage) -> list[tuple[str, str]]:
    """Sentences with their kind: what the address asks for that the register has not; what is shown of how many."""
    selection = asked()
    lost = unknown_values(found, selection)
    told = [(f"The address asks for something the register does not have: {what}.", "warn") for what in lost]
    shown = shown_sentence(found, chosen(found), asked_words(found, selection))
    return [*told, (shown, "said")] if shown else told


def place(found: Triage) -> str:
    """The place asked for, if the register has it."""
    asked_for = asked().location_id
    return asked_for if asked_for in found.places else ANYWHERE


def without_place() -> Mapping[str, str]:
    """Parameters for a link to the same question asked of all places."""
    return {name: value for name, value in query().items() if name != "location_id"}


def follow(event: Any, name: str, here: str) -> None:
    """A bar was chosen: ask for its place."""
    picked = [p.get("location_id", "") for p in event.selection.get(name, [])]
    if picked and picked[0] not in (ANYWHERE, here):
        st.query_params["location_id"] = picked[0]
        st.rerun()


def object_asked(found: Triage) -> str:
    """The object the address names, if the register has it."""
    named = st.query_params.get(OBJECT, "")
    return named if named in found.objects[OBJECT] else ""


def to_object() -> None:
    """Write the object number typed into the address."""
    typed = str(st.session_state["object_number"]).strip()
    if typed:
        st.query_params[OBJECT] = typed


def _show(found: Triage, selection: Selection) -> None:
    """Set the widgets to the address; what the register does not have cannot be shown in them."""
    st.session_state[KEYS["find"]] = selection.find
    known = selection.location_id in found.places
    st.session_state[KEYS["location_id"]] = selection.location_id if known else ANYWHERE
    for name, words in VOCABULARIES.items():
        st.session_state[KEYS[name]] = [t for t in getattr(selection, name) if t in vocabulary(words).term]


def _write() -> None:
    """Write the widgets into the address."""
    said = {name: st.session_state[key] for name, key in KEYS.items()}
    picked = Selection(
        location_id=said["location_id"],
        find=said["find"].strip(),
        **{name: tuple(said[name]) for name in VOCABULARIES},
    )
    others = {k: v for k, v in st.query_params.to_dict().items() if k not in KEYS}
    st.query_params.from_dict({**others, **picked.to_query()})


def _clear() -> None:
    st.query_params.from_dict({k: v for k, v in st.query_params.to_dict().items() if k not in KEYS})
