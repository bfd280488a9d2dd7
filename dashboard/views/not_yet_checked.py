"""What nobody has checked yet, and what is expected there."""

import polars as pl
import streamlit as st

from collection.questions import expected, not_yet_checked, storeroom
from collection.questions.triage import Triage
from collection.recording.surveys import draw_survey
from dashboard import charts, data, filters
from dashboard.views import parts

BY_LOT = 30
DRAWN, ANSWER = "drawn_by_lot", "survey_answer"  # keys of the session


def draw(triage: Triage, rows: pl.DataFrame) -> None:
    """A survey of thirty drawn by lot, noted before anybody looks, and its list."""
    parts.section(
        "Draw thirty by lot",
        "What thirty objects drawn by chance show holds for all of them. The draw is noted as a survey; its checks name"
        " it.",
    )
    who = st.text_input("Your name", key="survey_by", placeholder="Who draws it")
    if st.button("Draw them", key="survey_draw"):
        words, drawn = draw_survey(data.store(), rows, BY_LOT, by=who, day=triage.as_of)
        st.session_state[ANSWER] = words
        if not drawn.is_empty():
            st.session_state[DRAWN] = drawn["object_id"].to_list()
            st.rerun()
    if answer := st.session_state.pop(ANSWER, ""):
        parts.say(answer, "warn")
    if numbers := st.session_state.get(DRAWN):
        parts.table("by_lot", rows.filter(pl.col("object_id").is_in(numbers)), alt="Objects drawn by lot")


state = data.state()
triage = state.triage
chosen = filters.chosen(triage)
rows = not_yet_checked.not_checked(triage, chosen)
its = expected.expected(triage, chosen)
parts.head(triage, "Not yet checked", expected.sentence(triage, its), rest=True)
if not rows.is_empty():
    if words := expected.selection_sentence(its):
        parts.say(words)
    kinds = expected.by_kind(its)
    parts.section("What is expected, by kind")
    parts.picture(
        "expected",
        charts.expected_chart,
        kinds,
        alt="Objects not yet checked by kind: how many are expected above the limit, and what first checks found",
        caption="Expected: the starting chance of the kind, judgement, shrunk to what the museum's own first checks"
        f" found, {parts.as_of(state)}.",
    )
    parts.section("Where they are")
    places = storeroom.by_location(triage, not_yet_checked.never_checked(chosen), filters.place(triage))
    parts.picture(
        "not_checked_where",
        charts.by_location_chart,
        places,
        alt="Share of the collection's value expected to be lost a year among objects never checked, by place",
        caption=f"Only objects never checked in person; judged by their kind, {parts.as_of(state)}.",
    )
    parts.section("Look at these first", "By what may be lost there. A click anywhere in a row opens the object.")
    parts.table("not_yet_checked", rows, alt="Objects never checked, by what may be lost there")
    draw(triage, rows)
