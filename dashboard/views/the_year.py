"""The year in measures that mean the same next year."""

from datetime import date

import streamlit as st

from collection.questions import statement
from collection.recording.statements import YearlyStatement, freeze
from dashboard import data, text
from dashboard.views import papers, parts, trend_data

STATED_YEARS = 10  # that a statement is offered for
ANSWER = "freeze_answer"  # key of the session


def keep(its: YearlyStatement) -> None:
    """Freeze the figures of a year that is over when a person says so."""
    parts.section("Keep it", "Frozen, the figures of a year stay as they are, for next year to stand beside.")
    with st.container(horizontal=True, vertical_alignment="bottom"):
        who = st.text_input("Your name", key="freeze_by", placeholder="Who freezes it", width=260)
        if st.button(f"Freeze {its.year}", key="freeze"):
            st.session_state[ANSWER] = freeze(data.store(), its, by=who, today=date.today())
            st.rerun()


triage = data.state().triage
st.title("The year", anchor=False)
years = list(range(triage.as_of.year, triage.as_of.year - STATED_YEARS, -1))
year = st.selectbox("Year", years, key="statement_year")
its = trend_data.statement(year)
rows = statement.two_years(its.now, its.before)
parts.say(statement.sentence(its.triage, year, rows), "answer")
parts.say(
    its.frozen
    or f"Nothing of {year} or {year - 1} is frozen yet: the figures are worked out from what is on record today."
)
words = f"The year {year} in measures beside the year before"
headings = {"label": "Measure", "before": f"{year - 1}", "now": f"{year}", "changed": "Defined otherwise"}
st.html(text.facts(statement.measures_in_words(rows)))
parts.folded("Both years with definitions", "statement", rows.drop("measure"), alt=words, link=False, **headings)
papers.of_statement(triage, its)
if answer := st.session_state.pop(ANSWER, ""):
    parts.say(answer, "warn")
if year < date.today().year and not statement.frozen_sentence(triage.collection, year):
    keep(its)
