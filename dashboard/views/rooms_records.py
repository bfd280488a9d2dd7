"""Writing down what was done to a place: a fault put right, a sorbent or a filter renewed."""

from datetime import date

import polars as pl
import streamlit as st

from collection.questions.air import Air
from collection.questions.places import below
from collection.recording.places import RENEWED, Mended, Renewal, record_mended, record_renewal
from dashboard import data
from dashboard.views import parts

ANSWER = "rooms_answer"  # key of the session: what came of it


def answer() -> None:
    """What came of what was written down last, once."""
    if words := st.session_state.pop(ANSWER, ""):
        parts.say(words, "warn")


def mend_form(air: Air, faults: pl.DataFrame) -> None:
    """A form for a fault that was put right."""
    words = {
        i: f"{row['place']}: {row['words']}, noticed {row['seen_on']}"
        for i, row in enumerate(faults.iter_rows(named=True))
    }
    with st.expander("Write down a fault that was put right", key="mended_fold", on_change="rerun") as fold:
        if fold.open:
            with st.form("mended"):
                which = st.selectbox("Fault", list(words), format_func=words.__getitem__, key="mended_which")
                by = st.text_input("Your name", key="mended_by", placeholder="Who put it right")
                on = st.date_input("Day", value=air.triage.as_of, key="mended_on")
                if st.form_submit_button("Write it down"):
                    row = faults.row(which, named=True)
                    mended = Mended(row["location_id"], row["seen_on"], row["fault"], on, by)
                    _done(record_mended(data.store(), mended, air.triage.collection, today=_today(air)))


def renewal_form(air: Air, here: str) -> None:
    """A form for a sorbent or a filter that was renewed."""
    locations = air.triage.collection["location"]
    if here:
        locations = locations.filter(pl.col("location_id").is_in(below(locations, here).implode()))
    names = dict(locations.sort("location_id").select("location_id", pl.coalesce("name", "location_id")).iter_rows())
    with st.expander("Write down what was renewed", key="renewed_fold", on_change="rerun") as fold:
        if fold.open and names:
            with st.form("renewed"):
                what = st.selectbox("What", list(RENEWED), format_func=str.capitalize, key="renewed_what")
                place = st.selectbox("Place", list(names), format_func=names.__getitem__, key="renewed_place")
                by = st.text_input("Your name", key="renewed_by", placeholder="Who renewed it")
                on = st.date_input("Day", value=air.triage.as_of, key="renewed_on")
                months = st.number_input(
                    "Lasts so many months (empty: as before)", 0.0, 1200.0, None, 1.0, key="renewed_months"
                )
                if st.form_submit_button("Write it down"):
                    renewal = Renewal(place, what, on, by, lasts_months=months or None)
                    _done(record_renewal(data.store(), renewal, air.triage.collection, today=_today(air)))


def _done(words: str) -> None:
    st.session_state[ANSWER] = words
    st.rerun()


def _today(air: Air) -> date:
    """Nothing is written down ahead of time; a demonstration has a day of its own."""
    return max(date.today(), air.triage.as_of)
