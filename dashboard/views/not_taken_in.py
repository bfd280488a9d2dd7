"""Rows of the museum's files that were not taken: why, and what becomes of them."""

from functools import partial

import polars as pl
import streamlit as st

from collection.questions import refused_rows
from collection.recording import refused_rows as recording
from dashboard import data
from dashboard.views import parts

ANSWER = "answer"  # key of the session
WORKBOOK = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


def settle(rows: pl.DataFrame, picked: list[int]) -> None:
    """Settle the chosen rows with a name, or take them anyway through the rules."""
    who = st.text_input("Your name", key="settle_name", placeholder="Who deals with it")
    how = st.text_input("How it was dealt with", key="settle_how", placeholder="Entered by hand, asked the lender, ...")
    lines = rows[picked]
    with st.container(horizontal=True):
        settled = st.button("Mark these rows as dealt with", key="settle")
        overruled = st.button("Take them anyway", key="overrule")
    if (settled or overruled) and (missing := recording.missing(lines, by=who, how=how if settled else "-")):
        parts.say(missing, "warn")
    elif settled:
        _show(recording.settle(data.store(), lines, by=who, how=how))
    elif overruled:
        _show(recording.overrule(data.store(), lines, by=who))


def _show(what: str) -> None:
    """Show the page again, with what came of it."""
    st.session_state[ANSWER] = what
    st.rerun()


triage = data.state().triage
st.title("Rows not taken in", anchor=False)
rows = refused_rows.refused_rows(triage.collection)
parts.say(refused_rows.file_sentence(triage))
parts.say(refused_rows.refused_sentence(rows), "answer")
if answer := st.session_state.pop(ANSWER, ""):
    parts.say(answer, "warn")
if not rows.is_empty():
    parts.section(
        "Correct them in a workbook",
        "The workbook holds each row as typed, why it was refused and what to do. Corrected, it is brought in like any"
        " file: on the page Bring in, or by enamels intake refused.xlsx.",
    )
    book = partial(
        recording.workbook, triage.collection
    )  # made when asked for: every book bears the time of its making
    st.download_button(
        "Download the rows to correct (XLSX)", book, "refused.xlsx", WORKBOOK, key="book", on_click="ignore"
    )
    parts.section(
        "The rows",
        "Tick rows to mark them as dealt with. Rows read as outside this collection can be taken anyway: they go"
        " through the same rules as a file, and what the rules refuse stays refused.",
    )
    settle(rows, parts.ticked("refused", rows, alt="Rows not taken, with their reasons"))
