"""What was done at once: an interim action written down by whoever did it."""

from dataclasses import dataclass
from datetime import date

import polars as pl

from collection.store import Change, Store
from schemas.errors import RegisterError


@dataclass(frozen=True)
class Done:
    """One interim action as a person gives it; `answers`: the hazard it answers, empty: all of the object."""

    object_id: str
    what: str
    done_on: date
    by: str
    answers: str = ""
    until: date | None = None
    note: str = ""


def record_action(store: Store, done: Done) -> str:
    """Write the action; returns what came of it in a sentence."""
    if not done.by.strip():
        return "First give your name."
    actions = store.read()["action"]
    number = _next_number(set(actions["action_id"]))
    row = pl.DataFrame(
        {
            "action_id": number,
            "object_id": done.object_id,
            "hazard_id": done.answers or None,
            "done_on": done.done_on,
            "done_by": done.by.strip(),
            "what": done.what,
            "until": done.until,
            "note": done.note.strip() or None,
        },
        schema_overrides={"until": pl.Date, "hazard_id": pl.String, "note": pl.String},
    )
    try:
        store.write(Change({"action": row}), by=done.by.strip())
    except RegisterError as error:
        return f"Nothing was written. {error}"
    return f"Written down as {number}."


def _next_number(used: set[str]) -> str:
    """A number no action has, after the largest there is."""
    numbers = [int(name[1:]) for name in used if name[:1] == "A" and name[1:].isdigit()]
    return f"A{max(numbers, default=0) + 1:03d}"
