"""The year in measures that mean the same next year."""

import streamlit as st

from collection.questions import statement
from dashboard import data
from dashboard.views import papers, parts, trend_data

STATED_YEARS = 10  # that a statement is offered for

triage = data.state().triage
st.title("The year", anchor=False)
years = list(range(triage.as_of.year, triage.as_of.year - STATED_YEARS, -1))
year = st.selectbox("Year", years, key="statement_year")
its = trend_data.statement(year)
rows = statement.two_years(its.now, its.before)
parts.say(statement.sentence(its.triage, year, rows), "answer")
parts.say(its.frozen or f"Nothing of {year} or {year - 1} is frozen: `enamels statement` freezes a year that is over.")
words = f"The year {year} in measures beside the year before"
headings = {"label": "Measure", "before": f"{year - 1}", "now": f"{year}", "changed": "Defined otherwise"}
parts.table("statement", rows.drop("measure"), alt=words, link=False, **headings)
papers.of_statement(triage, its)
