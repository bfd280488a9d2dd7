"""What commands work out for a store in one state is worked out once for all tests of a worker that ask for it.

A state is the store's own number with the last line of its journal: every change adds a line, and a copy has both.
"""

import os
from collections.abc import Callable
from datetime import date
from typing import Any

from collection import pipeline
from collection.questions.triage import Triage
from collection.snapshot import Collection
from collection.store import Store
from collection.store.tables import ABOUT

MOST = 8  # states held at a time
State = tuple[Any, ...]


class AssessedOnce:
    """`pipeline.assess_store` with a memory."""

    def __init__(self) -> None:
        self._work_out = pipeline.assess_store
        self._wholes: dict[State, Collection] = {}
        self._known: dict[tuple[State, date], Triage] = {}

    def assess_store(self, store: Store, day: Callable[[Collection], date]) -> Triage:
        """As the function it stands for, once a state and day."""
        if not store.exists():
            return self._work_out(store, day)
        state = _state(store)
        if state not in self._wholes:
            if len(self._wholes) >= MOST:
                self._wholes.clear()
                self._known.clear()
            self._wholes[state] = store.read()
        asked = day(self._wholes[state])
        if (state, asked) not in self._known:
            self._known[state, asked] = self._work_out(store, lambda _: asked)
        return self._known[state, asked]


def _state(store: Store) -> State:
    with store.reading() as con:
        number = con.sql(f"SELECT store_id FROM {ABOUT}").fetchall()
        last = con.sql("FROM journal ORDER BY seq DESC LIMIT 1").fetchall()
    return (*number, *last, os.environ.get("ENAMELS_VOCABULARIES"))
