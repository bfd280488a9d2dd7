"""Fixtures: files judged as an intake judges them, without a store where what they become is looked at before it is written."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import polars as pl
import pytest

from collection.intake import pipeline as way_in
from collection.intake.mapping.mapping import ColumnMap
from collection.snapshot import Collection, empty_rows
from collection.store import readings
from schemas.tables import RECORDS
from tests.demonstration import TODAY

NOTHING = Collection.of({})


@dataclass(frozen=True)
class Judged:
    """What files would bring, judged and not written."""

    examined: way_in.Examined

    @property
    def answer(self) -> way_in.Intake:
        return self.examined.answer

    def rows(self, record: str) -> pl.DataFrame:
        """The rows of a record that would be written, in order of their key, with all its columns."""
        spec = RECORDS[record]
        rows = self.examined.change.rows.get(record, empty_rows(spec))
        return pl.concat([empty_rows(spec), rows], how="diagonal").sort(spec.key)

    def readings(self) -> pl.DataFrame:
        """The climate readings that would be written, their times in UTC."""
        return pl.concat(readings.in_utc(f) for file in self.examined.change.readings for f in file.frames)


@pytest.fixture(scope="session")
def judge() -> Callable[..., Judged]:
    """Judge files as `enamels intake --yes` does, against a register that is empty unless one is given."""

    def judged(
        *paths: Path,
        record: str | None = None,
        mapping: Path | None = None,
        saved: dict[str, ColumnMap] | None = None,
        held: Collection = NOTHING,
    ) -> Judged:
        by_sheet = way_in.load_mapping(mapping) if mapping else saved or {}
        opened = way_in.open_files(paths, held, record, by_sheet)
        return Judged(way_in.examine(opened, held, by="tester", today=TODAY, with_readings=True))

    return judged


@pytest.fixture(scope="session")
def answer_to(judge: Callable[..., Judged]) -> Callable[..., way_in.Intake]:
    """What is answered of files that an empty register is given; nothing is written."""
    return lambda *paths, **asked: judge(*paths, **asked).answer
