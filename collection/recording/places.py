"""What was done to a place: a fault put right, a sorbent or a filter renewed; written over what the person saw."""

from dataclasses import dataclass
from datetime import date
from typing import Any

import polars as pl

from collection.questions.words import day_in_words
from collection.snapshot import Collection, stored_schema
from collection.store import Change, Store
from schemas.errors import RegisterError
from schemas.records.place import Location, PlaceCheck
from schemas.tables import RECORDS

FAULT, PLACE = PlaceCheck.record, Location.record
RENEWED = {
    "sorbent": ("sorbent_renewed_on", "sorbent_lasts_months"),
    "filter": ("filter_renewed_on", "filter_lasts_months"),
}
VERSION, LONGEST_MONTHS = "row_version", 1200
c = pl.col


@dataclass(frozen=True)
class Mended:
    """A fault of a place, by its key, and the day it was put right."""

    location_id: str
    seen_on: date
    fault: str
    mended_on: date
    by: str


@dataclass(frozen=True)
class Renewal:
    """What was renewed at a place (a key of RENEWED), when, and how long it is to last [month]; None: as before."""

    location_id: str
    what: str
    renewed_on: date
    by: str
    lasts_months: float | None = None


def record_mended(store: Store, mended: Mended, seen: Collection, *, today: date) -> str:
    """Write the day a fault was put right; returns what came of it in a sentence. `seen`: what the person saw."""
    key = {n: getattr(mended, n) for n in RECORDS[FAULT].key}
    row = _held(seen, FAULT, key)
    if row is None:
        return "Nothing was written: this fault is no longer on record."
    if problem := _missing(mended.by, mended.mended_on, today, since=mended.seen_on):
        return problem
    answer = _write(store, FAULT, row, {**key, "mended_on": mended.mended_on}, mended.by)
    return answer or f"Written down: put right on {day_in_words(mended.mended_on)}."


def record_renewal(store: Store, renewal: Renewal, seen: Collection, *, today: date) -> str:
    """Write the day a sorbent or filter was renewed; returns what came of it in a sentence."""
    key = {"location_id": renewal.location_id}
    row = _held(seen, PLACE, key)
    if row is None:
        return "Nothing was written: this place is no longer on record."
    day, months = RENEWED[renewal.what]
    if problem := _missing(renewal.by, renewal.renewed_on, today, since=row[day]):
        return problem
    if renewal.lasts_months is not None and not 0 < renewal.lasts_months <= LONGEST_MONTHS:
        return f"Nothing was written: it lasts from a part of a month to {LONGEST_MONTHS} months."
    lasting = {months: renewal.lasts_months} if renewal.lasts_months else {}
    answer = _write(store, PLACE, row, {**key, day: renewal.renewed_on, **lasting}, renewal.by)
    return answer or f"Written down: {renewal.what} renewed on {day_in_words(renewal.renewed_on)}."


def _held(seen: Collection, record: str, key: dict[str, Any]) -> dict[str, Any] | None:
    rows = seen[record].filter([c(n) == v for n, v in key.items()])
    return rows.row(0, named=True) if rows.height else None


def _missing(by: str, day: date, today: date, since: date | None) -> str:
    """What is still to be said, in a sentence; empty when it can be written."""
    if not by.strip():
        return "First give your name."
    if day > today:
        return f"Nothing was written: {day_in_words(day)} is still to come. Give the day it was done."
    if since is not None and day < since:
        return f"Nothing was written: {day_in_words(day)} is before {day_in_words(since)}, which is on record."
    return ""


def _write(store: Store, record: str, held: dict[str, Any], row: dict[str, Any], by: str) -> str:
    """Write one row as it was seen; why nothing was written, else nothing."""
    schema = stored_schema(RECORDS[record])
    whole = {**row, VERSION: held[VERSION]}
    try:
        frame = pl.DataFrame([whole], schema={n: schema[n] for n in whole})
        written = store.write(Change({record: frame}), by=by.strip())
    except RegisterError as error:
        return f"Nothing was written. {error}"
    if written.conflicts.height:
        return "Nothing was written: somebody else changed it meanwhile. Read the page again."
    return ""
