"""The state of the store to the collection assessed, once for each state and day; of nothing else is it kept."""

import contextlib
import os
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path

import streamlit as st

from collection import pipeline
from collection.commands.output import DEFAULT_STORE, resolve_as_of
from collection.questions.triage import Triage
from collection.snapshot import Version
from collection.store import Store
from schemas.errors import RegisterError, StoreBusy

RUN = "state_of_this_run"  # key of the session
READ_WAIT_S = 0.5  # where there is an older state to show meanwhile


@dataclass(frozen=True)
class Snapshot:
    """What is known, when it was read, and why it may be old (empty when it is not)."""

    found: Triage
    read_at: datetime
    old: str = ""


@dataclass
class SnapshotCache:
    """The last state read of each store, for when another process holds it."""

    states: dict[str, Snapshot] = field(default_factory=dict)


def store() -> Store:
    """The store the dashboard was started for."""
    return Store(Path(os.environ.get("ENAMELS_STORE") or DEFAULT_STORE))


def state() -> Snapshot:
    """What `read` found for this run of the page: sentence, picture and table are of one state."""
    found: Snapshot = st.session_state[RUN]
    return found


def read() -> Snapshot:
    """The collection assessed, once for each run of a page. Raises RegisterError.

    While another process writes: as last read, saying so.
    """
    kept, where = _last(), store()
    patience = READ_WAIT_S if str(where.path) in kept.states else where.read_wait_s
    try:
        found = _assessed(str(where.path), where.version(), date.today(), patience)
    except StoreBusy as busy:
        if str(where.path) not in kept.states:
            raise
        last = kept.states[str(where.path)]
        return _kept(Snapshot(last.found, last.read_at, f"{busy.what}; this is as read at {last.read_at:%H:%M:%S}"))
    if str(where.path) not in kept.states or kept.states[str(where.path)].found is not found:
        kept.states[str(where.path)] = Snapshot(found, datetime.now())
    return _kept(kept.states[str(where.path)])


def _kept(state: Snapshot) -> Snapshot:
    st.session_state[RUN] = state
    return state


def warm() -> None:
    """Read and rank ahead of the first person, in a thread; what is wrong with the store is said to that person."""
    with contextlib.suppress(RegisterError):
        where = store()
        _assessed(str(where.path), where.version(), date.today(), where.read_wait_s).told  # noqa: B018 kept from here


@st.cache_resource(
    max_entries=2, show_spinner="Reading the register and ranking the collection \N{HORIZONTAL ELLIPSIS}"
)
def _assessed(path: str, version: Version, today: date, _wait_s: float) -> Triage:
    """Ranked as of the store's own day, else today."""
    return pipeline.triage(Store(Path(path), read_wait_s=_wait_s), lambda collection: resolve_as_of(None, collection))


@st.cache_resource(show_spinner=False)
def _last() -> SnapshotCache:
    return SnapshotCache()
