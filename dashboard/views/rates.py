"""What the museum's own checks say of the rates, beside the starting values; choosing between them."""

from datetime import date

import polars as pl
import streamlit as st

from collection.questions import how_sure, learned_rates
from collection.questions.words import coverage_sentence
from collection.recording import rates as recording
from collection.risk.rate_rows import LEARNED
from dashboard import charts, data
from dashboard.views import parts

SHOWN = 20  # rows of the picture
ANSWER = "rates_answer"  # key of the session
SWAYING = ("words", "basis", "hazards", "years_short", "years_long", "total_short", "total_long", "changed_in_first")
WORDS = {LEARNED: "What the checks say", recording.STARTING: "The starting value"}


def choose(rows: pl.DataFrame) -> None:
    """A row, what to go by, a name and a reason; what came of it stands on the page again."""
    names = dict(rows.select("cell", "what").iter_rows())
    cell = st.selectbox("Row of the rates", list(names), format_func=names.__getitem__, key="rate")
    chosen = st.radio("Go by", list(WORDS), format_func=WORDS.__getitem__, key="rate_choice", horizontal=True)
    who = st.text_input("Your name", key="rate_name", placeholder="Who chooses")
    why = st.text_input("Why", key="rate_why", placeholder="Enough losses behind it, asked the conservator, ...")
    if not st.button("Go by it from now on", key="rate_choose"):
        return
    row = rows.row(by_predicate=pl.col("cell") == cell, named=True)
    if missing := recording.missing(row, chosen, by=who, why=why):
        parts.say(missing, "warn")
        return
    known = data.state().triage.collection
    st.session_state[ANSWER] = recording.choose(data.store(), known, row, chosen, by=who, why=why, today=date.today())
    st.rerun()


state = data.state()
triage = state.triage
rows = data.rates()
st.title("Rates", anchor=False)
parts.say(coverage_sentence(triage.coverage()))
parts.say(learned_rates.sentence(rows), "answer")
if answer := st.session_state.pop(ANSWER, ""):
    parts.say(answer, "warn")
swaying = how_sure.swaying(triage)
if not swaying.is_empty():
    parts.section("Starting values that move the order most", how_sure.swaying_sentence(swaying))
    parts.folded(
        "How far each row moves the total",
        "swaying",
        swaying.select(SWAYING),
        alt="Rows of the rates by how far they move the total",
        years_short="Years to the next loss, short [year]",
        years_long="Years to the next loss, long [year]",
    )
if not rows.is_empty():
    parts.section("Years to the next loss", "Above in each row the starting value, below what the checks say.")
    parts.picture(
        "rates",
        charts.rates_chart,
        rows.head(SHOWN),
        alt="Years to the next loss, short to long: starting value and what was learned, most losses first",
        caption=f"The {min(SHOWN, rows.height)} rows with most losses, {parts.as_of(state)}: years of many such"
        " damages, nine in ten within the line. Starting values are judgement. Equal steps are equal factors.",
    )
    parts.section(
        "All rows",
        "From one inspection to the next that covered the same place; a treatment, an accident or a journey between"
        " leaves the time out.",
    )
    parts.table(
        "rates_list",
        rows.select(pl.exclude("cell"), "cell"),
        alt="Rows of the rates with starting and learned years",
        link=False,
    )
    parts.section("Choose", "What is chosen is used from then on, everywhere, and the journal keeps who chose and why.")
    choose(rows)
