"""Files as loggers write them, invented: their lines, and a store with places that they are brought into."""

from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import polars as pl

from collection.intake import pipeline as way_in
from collection.intake.mapping.load import ANY_SHEET
from collection.intake.mapping.mapping import ColumnMap, LoggerAnswers
from collection.store import Store
from tests.demonstration import TODAY

PLACES = pl.DataFrame({"location_id": ["E1", "E2", "E3"], "name": ["Room one", "Room two", "Attic"], "logger_id": ["L-1", "L-2", None]})  # fmt: skip
START = datetime(2024, 3, 11, 10)
Reading = tuple[str, str | None, datetime, float | None, float | None]
LONDON = {"zone": "Europe/London"}  # UTC in March before the 31st


def hours(count: int, start: datetime = START) -> list[datetime]:
    return [start + timedelta(hours=n) for n in range(count)]


def usual(logger: str = "L-1", place: str | None = "E1", start: datetime = START, count: int = 30) -> list[Reading]:
    """Thirty readings, an hour between them: 18.0 °C and 45.0 %, a tenth more each hour."""
    return [(logger, place, t, round(18 + n / 10, 1), round(45 + n / 10, 1)) for n, t in enumerate(hours(count, start))]


def lines(head: list[str], line: Callable[[datetime, float, float], str], count: int = 30) -> str:
    return "\n".join([*head, *(line(t, a, b) for _, _, t, a, b in usual(count=count))]) + "\n"  # type: ignore[arg-type]


def stamp(t: datetime) -> str:
    return f"{t:%Y-%m-%d %H:%M:%S}"


def answered(answers: dict[str, Any] | None) -> dict[str, ColumnMap]:
    return {ANY_SHEET: ColumnMap("climate_reading", {}, logger=LoggerAnswers(**answers))} if answers else {}


def opened(store: Store, path: Path, answers: dict[str, Any] | None = None) -> way_in.Opened:
    return way_in.open_files([path], way_in.remembered_in(store), None, answered(answers))


def bring(store: Store, path: Path, answers: dict[str, Any] | None = None) -> way_in.Intake:
    return way_in.intake(store, opened(store, path, answers), way_in.held_or_empty(store), by="ada", today=TODAY)


def held(store: Store) -> list[Reading]:
    return as_rows(store.read_record("climate_reading"))


def as_rows(readings: pl.DataFrame) -> list[Reading]:
    names = ["logger_id", "location_id", "read_at", "temperature_c", "rh_percent"]
    frame = readings.sort("logger_id", "read_at")
    return frame.select(*names[:3], pl.col(names[3]).round(2), pl.col(names[4]).round(2)).rows()
