"""The collection assessed, once for each version of the store and day: what every page shows."""

import contextlib
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path

import polars as pl
import streamlit as st

from collection import pipeline
from collection.back_testing import back_test_store
from collection.environment import DEFAULT_STORE, Environment
from collection.learning.back_test import BackTest, later_day
from collection.plan.plan import Plan
from collection.planning.asked import Asked
from collection.questions import check_value, how_sure, travel
from collection.questions.air import Air
from collection.questions.check_value import Job
from collection.questions.learned_rates import rate_rows
from collection.questions.triage import Triage
from collection.questions.work_ahead import Ahead, ahead
from collection.settings import as_of_day
from collection.snapshot import Version
from collection.store import Store
from dashboard.background import Task
from dashboard.plan_work import Steps, otherwise_steps, plan_steps
from schemas.errors import RegisterError, StoreBusy

RUN = "state_of_this_run"  # key of the session
YEARS_BACK = 5  # of the forecast that stands beside what checks saw
PLANS = 8  # that are kept ready
READ_WAIT_S = 0.5  # where there is an older state to show meanwhile


@dataclass(frozen=True)
class Snapshot:
    """What is known, when it was read, and why it may be old (empty when it is not)."""

    triage: Triage
    read_at: datetime
    old: str = ""


@dataclass
class SnapshotCache:
    """The last state read of each store, for when another process holds it."""

    by_path: dict[str, Snapshot] = field(default_factory=dict)


def store() -> Store:
    """The store the dashboard was started for."""
    return Store(Environment.read().store or DEFAULT_STORE)


def state() -> Snapshot:
    """What `read` gave for this run of the page: sentence, picture and table are of one state."""
    snapshot: Snapshot = st.session_state[RUN]
    return snapshot


def read() -> Snapshot:
    """The collection assessed, once for each run of a page. Raises RegisterError.

    While another process writes: as last read, saying so.
    """
    cache, where = _cache().by_path, store()
    path = str(where.path)
    patience = READ_WAIT_S if path in cache else where.read_wait_s
    try:
        triage = _assessed(path, where.version(), date.today(), patience)
    except StoreBusy as busy:
        if path not in cache:
            raise
        last = cache[path]
        return _of_this_run(
            Snapshot(last.triage, last.read_at, f"{busy.what}; this is as read at {last.read_at:%H:%M:%S}")
        )
    if path not in cache or cache[path].triage is not triage:
        cache[path] = Snapshot(triage, datetime.now())
    return _of_this_run(cache[path])


def nothing_yet() -> Snapshot:
    """For a page that needs no store: nothing is known so far."""
    return _of_this_run(Snapshot(_nothing_yet(date.today()), datetime.now()))


def _of_this_run(snapshot: Snapshot) -> Snapshot:
    st.session_state[RUN] = snapshot
    return snapshot


def travels() -> pl.DataFrame:
    """May it travel? object_id and the verdict in words; once for each state."""
    triage = state().triage
    return _travels(triage.collection.version, triage.as_of, triage)


def air() -> Air:
    """The collection with the hourly means of its places; read once for each state. Raises StoreUnusable."""
    triage = state().triage
    return _air(triage.collection.version, triage.as_of, triage)


def rates() -> pl.DataFrame:
    """What the checks say of the rates, schema RATE_ROWS; once for each state."""
    triage = state().triage
    return _rates(triage.collection.version, triage.as_of, triage)


def back_test(years: int) -> BackTest:
    """What was expected so many years ago beside what the checks saw since; once for each state. StoreUnusable."""
    triage = state().triage
    return _back_test(triage.collection.version, triage.as_of, years, triage)


def work_ahead() -> Ahead | None:
    """What of work is to come; once for each state."""
    triage = state().triage
    return _work_ahead(triage.collection.version, triage.as_of, triage)


def usual_job() -> Job | None:
    """The usual treatment, by which a check is judged; once for each state."""
    triage = state().triage
    return _usual_job(triage.collection.version, triage.as_of, triage)


def planned(asked: Asked) -> Task:
    """The plan that is asked for, being worked out or done; begun once for each state."""
    return _planned(*_plan_key(asked), state().triage, asked)


def forget_plan(asked: Asked) -> None:
    """What was worked out for this is worked out again when it is asked for next."""
    _planned.clear(*_plan_key(asked), state().triage, asked)


def _plan_key(asked: Asked) -> tuple[Version, date, str]:
    triage = state().triage
    return triage.collection.version, triage.as_of, f"{asked.years} {asked.money} {sorted(asked.hours.items())}"


def judged_otherwise(plan: Plan, group: str) -> Task:
    """The plan under other judgements, being worked out or done; begun once for each plan and group of rates."""
    return _judged_otherwise(id(plan), group, plan)


def worked_out(asked: str, steps: Steps) -> Task:
    """Work that a person asks for next to the plan, being done or done; begun once for each state and question."""
    return _worked_out(*_further_key(asked), steps)


def forget_worked_out(asked: str, steps: Steps) -> None:
    """It is worked out again when it is asked for next."""
    _worked_out.clear(*_further_key(asked), steps)


def _further_key(asked: str) -> tuple[Version, date, str]:
    triage = state().triage
    return triage.collection.version, triage.as_of, asked


def warm() -> None:
    """Read and rank ahead of the first person, in a thread; what is wrong with the store is told to that person."""
    with contextlib.suppress(RegisterError):
        where = store()
        triage = _assessed(str(where.path), where.version(), date.today(), where.read_wait_s)
        triage.reasons_of_all  # noqa: B018 computed once, then cached
        _travels(triage.collection.version, triage.as_of, triage)
        _back_test(triage.collection.version, triage.as_of, YEARS_BACK, triage)


@st.cache_resource(
    max_entries=2, show_spinner="Reading the register and ranking the collection \N{HORIZONTAL ELLIPSIS}"
)
def _assessed(path: str, version: Version, today: date, _wait_s: float) -> Triage:
    """Assessed as of the store's own day, else today."""
    return pipeline.assess_store(Store(Path(path), read_wait_s=_wait_s), lambda collection: as_of_day(None, collection))


@st.cache_resource(max_entries=1, show_spinner=False)
def _nothing_yet(today: date) -> Triage:
    return pipeline.nothing_yet(today)


def drawn(triage: Triage) -> pl.DataFrame:
    """Losses over the ranges of the starting values, schema DRAWN: once for each state of the store."""
    return _drawn(triage.collection.version, triage)


@st.cache_resource(
    max_entries=2, show_spinner="Drawing the starting values within their ranges \N{HORIZONTAL ELLIPSIS}"
)
def _drawn(version: Version, _triage: Triage) -> pl.DataFrame:
    return how_sure.drawn(_triage)


@st.cache_resource(max_entries=2, show_spinner="Judging what may travel \N{HORIZONTAL ELLIPSIS}")
def _travels(version: Version, day: date, _triage: Triage) -> pl.DataFrame:
    return travel.verdict_words(_triage)


@st.cache_resource(max_entries=2, show_spinner="Reading the air of the rooms \N{HORIZONTAL ELLIPSIS}")
def _air(version: Version, day: date, _triage: Triage) -> Air:
    return pipeline.air_of(store(), _triage)


@st.cache_resource(max_entries=2, show_spinner="Reading what the checks say of the rates \N{HORIZONTAL ELLIPSIS}")
def _rates(version: Version, day: date, _triage: Triage) -> pl.DataFrame:
    return rate_rows(_triage.collection, _triage.risk.checks)


@st.cache_resource(max_entries=4, show_spinner="Forecasting from what was known then \N{HORIZONTAL ELLIPSIS}")
def _back_test(version: Version, day: date, years: int, _triage: Triage) -> BackTest:
    return back_test_store(store(), _triage.collection, later_day(day, -years), day)


@st.cache_resource(max_entries=2, show_spinner="Counting what is to come \N{HORIZONTAL ELLIPSIS}")
def _work_ahead(version: Version, day: date, _triage: Triage) -> Ahead | None:
    return ahead(_triage)


@st.cache_resource(max_entries=2, show_spinner="Judging what a check is worth \N{HORIZONTAL ELLIPSIS}")
def _usual_job(version: Version, day: date, _triage: Triage) -> Job | None:
    return check_value.usual_job(_triage)


@st.cache_resource(max_entries=PLANS, show_spinner=False)
def _planned(version: Version, day: date, key: str, _triage: Triage, _asked: Asked) -> Task:
    return Task(plan_steps(_triage, _asked.question(_triage)))


@st.cache_resource(max_entries=PLANS, show_spinner=False)
def _worked_out(version: Version, day: date, asked: str, _steps: Steps) -> Task:
    return Task(_steps)


@st.cache_resource(max_entries=PLANS, show_spinner=False)
def _judged_otherwise(number: int, group: str, _plan: Plan) -> Task:
    return Task(otherwise_steps(_plan, group))


@st.cache_resource(show_spinner=False)
def _cache() -> SnapshotCache:
    return SnapshotCache()
