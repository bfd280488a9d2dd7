"""What the page of trends takes long to work out, once for each state of the store and question."""

from datetime import date

import polars as pl
import streamlit as st

from collection.pipeline import hours_since_first_check
from collection.questions.over_time import OverTime
from collection.questions.over_time import over_time as over_time_of
from collection.questions.selection import Selection, select
from collection.questions.triage import Triage
from collection.recording.statements import YearlyStatement, yearly_statement
from collection.snapshot import Version
from dashboard import data


def over_time(asked: Selection, start: date | None, end: date | None) -> OverTime:
    """What became of the grades of the objects asked for."""
    triage, key = data.state().triage, f"{asked.asked} {start} {end}"
    return _over_time(triage.collection.version, triage.as_of, key, triage, asked, start, end)


def hours() -> pl.DataFrame:
    """Hourly means of every logger since the first check, schema HOURS. StoreUnusable."""
    triage = data.state().triage
    return _hours(triage.collection.version, triage.as_of, triage)


def statement(year: int) -> YearlyStatement:
    """The year in measures beside the year before. StoreUnusable."""
    triage = data.state().triage
    return _statement(triage.collection.version, triage.as_of, year)


@st.cache_resource(max_entries=4, show_spinner="Counting the year \N{HORIZONTAL ELLIPSIS}")
def _statement(version: Version, day: date, year: int) -> YearlyStatement:
    return yearly_statement(data.store(), year)


@st.cache_resource(max_entries=8, show_spinner="Telling decline from who looked \N{HORIZONTAL ELLIPSIS}")
def _over_time(
    version: Version, day: date, key: str, _triage: Triage, _asked: Selection, _start: date | None, _end: date | None
) -> OverTime:
    return over_time_of(_triage, select(_triage, _asked), _start, _end)


@st.cache_resource(max_entries=2, show_spinner="Reading the loggers \N{HORIZONTAL ELLIPSIS}")
def _hours(version: Version, day: date, _triage: Triage) -> pl.DataFrame:
    return hours_since_first_check(data.store(), _triage)
