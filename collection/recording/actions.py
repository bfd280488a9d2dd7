"""What was done at once: an interim action written down by whoever did it."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

import polars as pl

from collection.facts.wording import DANGER
from collection.risk.rate_rows import DAMAGE, FRAGMENT, REPAIR
from collection.snapshot import Collection
from collection.store import Change, Store
from collection.validation.problems import ROW
from collection.validation.validate import validate
from schemas.errors import RegisterError

RECORD = "action"
# Where what an action may answer is on record: the record, and the column its number ends with.
ANSWERED: Mapping[str, tuple[str, str]] = {
    DAMAGE: ("damage", "damage_id"),
    REPAIR: ("repair", "repair_id"),
    FRAGMENT: ("fragment", "fragment_id"),
    DANGER: ("danger_to_people", "agent"),
}


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


def record_action(store: Store, done: Done, *, today: date) -> str:
    """Write the action, judged by the same rules as a file; returns what came of it in a sentence."""
    collection = store.read()
    if problem := _missing(collection, done, today):
        return problem
    number = _next_number(set(collection.frames[RECORD]["action_id"]))
    judged = validate({RECORD: _row(done, number)}, collection, today=today)
    if RECORD not in judged.accepted:
        return f"Nothing was written: {'; '.join(judged.problems['words'].unique(maintain_order=True))}."
    change = Change({RECORD: judged.accepted[RECORD].drop(ROW, "from_row")})
    try:
        written = store.write(change, by=done.by.strip())
    except RegisterError as error:
        return f"Nothing was written. {error}"
    if written.conflicts.height:
        return f"Nothing was written: somebody else used number {number} at the same moment. Write it down again."
    return f"Written down as {number}."


def _missing(collection: Collection, done: Done, today: date) -> str:
    """What is still to be said, or no longer so, in a sentence; empty when it can be written."""
    if not done.by.strip():
        return "First give your name."
    if done.done_on > today:
        return f"Nothing was written: {done.done_on:%-d %B %Y} is still to come. Give the day it was done."
    if done.until is not None and done.until < done.done_on:
        return "Nothing was written: it would end before it was done. Give a later day, or none."
    if done.answers and not _on_record(collection, done):
        return "Nothing was written: what it answers is no longer on record. Check the object again."
    return ""


def _on_record(collection: Collection, done: Done) -> bool:
    """Whether the object still has what the action answers, and nobody closed it."""
    source, _, key = done.answers.partition(":")
    if source not in ANSWERED:
        return False
    record, column = ANSWERED[source]
    rows = collection[record].filter(pl.col("object_id") == done.object_id, pl.col(column) == key)
    return not (rows.filter(pl.col("closed_on").is_null()) if "closed_on" in rows.columns else rows).is_empty()


def _row(done: Done, number: str) -> pl.DataFrame:
    return pl.DataFrame(
        {
            ROW: 1,
            "action_id": number,
            "object_id": done.object_id,
            "hazard_id": done.answers or None,
            "done_on": done.done_on,
            "done_by": done.by.strip(),
            "what": done.what,
            "until": done.until,
            "note": done.note.strip() or None,
        },
        schema_overrides={ROW: pl.Int64, "until": pl.Date, "hazard_id": pl.String, "note": pl.String},
    )


def _next_number(used: set[str]) -> str:
    """A number no action has, withdrawn ones included, after the largest there is."""
    numbers = [int(name[1:]) for name in used if name[:1] == "A" and name[1:].isdigit()]
    return f"A{max(numbers, default=0) + 1:03d}"
