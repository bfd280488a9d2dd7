"""What nobody has checked yet, and what is expected there."""

import polars as pl
import streamlit as st

from collection.plan.parameters import asking
from collection.planning.asked import ROUND
from collection.questions import check_value, not_yet_checked, where_lost
from collection.questions.triage import Triage
from collection.recording.surveys import draw_survey, note_round
from dashboard import charts, data, filters
from dashboard.views import parts

BY_LOT = 30
DRAWN, ANSWER, NOTED = "drawn_by_lot", "survey_answer", "round_answer"  # keys of the session


def round_hours() -> float:
    """Hours of the round, as the address says; what cannot be read is said."""
    figures, typed = asking(), st.query_params.get(ROUND, "")
    try:
        hours = float(typed or figures.round_hours)
    except ValueError:
        hours = -1.0
    if figures.check_hours <= hours <= figures.round_most_hours:
        return hours
    parts.say(f"The address asks for a round of \u2018{typed}\u2019 hours, which cannot be planned.", "warn")
    return figures.round_hours


def write_hours() -> None:
    """Write the hours of the round into the address."""
    st.query_params[ROUND] = f"{st.session_state[ROUND]:g}"


def first_checks(triage: Triage, its: not_yet_checked.Expected) -> None:
    """What to check in the hours there are: the round whose checks are worth most, noted as a survey when asked for."""
    job = data.usual_job()
    if job is None:
        return
    parts.section("A round of checks")
    st.session_state[ROUND] = hours = round_hours()
    most = asking().round_most_hours
    st.number_input("Hours for checks [h]", asking().check_hours, most, step=5.0, key=ROUND, on_change=write_hours,
                    format="%g", width=200)  # fmt: skip
    values = check_value.check_values(triage, its, job)
    chosen = check_value.round_of_checks(values, hours)
    parts.say(check_value.round_sentence(chosen, values, hours), "answer")
    parts.say(
        "What a check is worth: the chance that something asks for treatment, times what the museum's usual treatment"
        f" would then prevent, less {asking().check_hours:g} h of time. It holds for each check by itself."
    )
    if chosen.is_empty():
        return
    read = chosen.with_columns(check_worth_percent=pl.col("check_worth") * 100).drop("check_worth", "kind")
    parts.table("round", read, alt="Objects to check first in the hours there are", title="Title", place="Place")
    note(triage, chosen, hours)


def note(triage: Triage, chosen: pl.DataFrame, hours: float) -> None:
    """Note the round as a survey when a person says so."""
    with st.container(horizontal=True, vertical_alignment="bottom"):
        who = st.text_input("Your name", key="round_by", placeholder="Who notes it", width=260)
        if st.button("Note this round as a survey", key="round_note"):
            st.session_state[NOTED], _ = note_round(data.store(), chosen, hours, by=who, day=triage.as_of)
            st.rerun()
    if answer := st.session_state.pop(NOTED, ""):
        parts.say(answer, "warn")


def draw(triage: Triage, rows: pl.DataFrame) -> None:
    """A survey of thirty drawn at random, noted before anybody looks, and its list."""
    parts.section(
        "Draw thirty at random",
        "What thirty objects drawn at random show holds for all of them. The draw is noted as a survey; its checks name"
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
        parts.table("by_lot", rows.filter(pl.col("object_id").is_in(numbers)), alt="Objects drawn at random")


state = data.state()
triage = state.triage
chosen = filters.chosen(triage)
rows = not_yet_checked.not_checked(triage, chosen)
its = not_yet_checked.expected(triage, chosen)
parts.head(triage, "Not yet checked", not_yet_checked.sentence(triage, its), rest=True)
if not rows.is_empty():
    for words in (not_yet_checked.now_sentence(triage, chosen), not_yet_checked.selection_sentence(its)):
        if words:
            parts.say(words)
    kinds = not_yet_checked.by_kind(its)
    parts.section("What is expected, by kind")
    parts.picture(
        "expected",
        charts.expected_chart,
        kinds,
        alt="Objects not yet checked by kind: how many are expected above the limit, and what first checks found",
        caption="Expected: the starting chance of the kind, judgement, drawn towards what the museum's own first checks"
        f" found, and what remarks, rooms and the way those were chosen say, {parts.as_of(state)}.",
    )
    parts.section("Where they are")
    places = where_lost.by_location(triage, not_yet_checked.never_checked(chosen), filters.place(triage))
    parts.picture(
        "not_checked_where",
        charts.by_location_chart,
        places,
        alt="Share of the collection's value expected to be lost a year among objects never checked, by place",
        caption=f"Only objects never checked in person; judged by their kind, {parts.as_of(state)}.",
    )
    first_checks(triage, its)
    parts.section("Look at these first", "By what may be lost there. A click anywhere in a row opens the object.")
    parts.table("not_yet_checked", rows, alt="Objects never checked, by what may be lost there")
    draw(triage, rows)
