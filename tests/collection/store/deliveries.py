"""Deliveries as an intake writes them, and what an undo must leave as it was."""

from datetime import datetime
from pathlib import Path

import polars as pl
from polars.testing import assert_frame_equal

from collection.store import Change, Store
from collection.store.change import DeliveryNote, Written

DAY = datetime(2026, 3, 1, 12)


def objects(*pairs: tuple[str, str | None]) -> pl.DataFrame:
    return pl.DataFrame(pairs, schema={"object_id": pl.String, "title": pl.String}, orient="row")


def deliver(store: Store, file: str = "a.csv", **rows: pl.DataFrame) -> Written:
    """As an intake does: rows with the versions the register has, from a file, with a note."""
    known = store.read() if store.exists() else None
    versioned = {n: _with_version(n, f, known) for n, f in rows.items()}
    return store.write(Change(versioned, from_file=True, delivery=DeliveryNote([file])), by="ada")


def _with_version(name, frame, known):
    from schemas.tables import RECORDS

    if known is None:
        return frame
    return frame.join(known.frames[name].select(*RECORDS[name].key, "row_version"), on=RECORDS[name].key, how="left")


def records(store: Store) -> dict[str, pl.DataFrame]:
    """What an undo must leave as it was: everything but journal, deliveries and the count of changes of a row."""
    return {n: f.drop("row_version") for n, f in store.read().frames.items() if n != "delivery"}


def published(store: Store, folder: Path) -> dict[str, str]:
    listed = store.publish(folder, "csv")
    apart = ("journal.csv", "delivery.csv", "datapackage.json")
    return {r["file"]: r["sha256"] for r in listed.iter_rows(named=True) if r["file"] not in apart}


def same(one: dict[str, pl.DataFrame], other: dict[str, pl.DataFrame]) -> None:
    assert one.keys() == other.keys()
    for name, frame in one.items():
        assert_frame_equal(frame, other[name])
