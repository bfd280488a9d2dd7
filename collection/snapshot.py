"""What the register holds at one moment, as frozen frames: the one type that questions, risk and reports read."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import cache

import polars as pl

from schemas.tables import RECORDS, TableSpec

Version = tuple[object, ...]

ENTRY_NO, SOURCE_ROW = "entry_no", "source_row"
# The store's own columns on every row; declarations do not name them.
SYSTEM_COLUMNS = pl.Schema(
    {
        "row_version": pl.Int64(),
        "withdrawn_on": pl.Date(),
        "withdrawn_reason": pl.String(),
        "source_file": pl.String(),
        SOURCE_ROW: pl.Int64(),
        "set_here": pl.List(pl.String()),  # columns whose value a person wrote here, not an import
        ENTRY_NO: pl.Int64(),  # in which order rows of a record came: what is of one day is ordered by it
    }
)
# Too large to carry about: climate readings have verbs of their own in the store, the journal is read by `journal`.
NOT_IN_SNAPSHOT = ("climate_reading", "journal")


@cache
def stored_schema(spec: TableSpec) -> pl.Schema:
    """Schema of a record as kept: declared and derived columns, then the store's own."""
    return pl.Schema({**spec.schema(), **SYSTEM_COLUMNS})


@cache
def empty_rows(spec: TableSpec) -> pl.DataFrame:
    """A record without rows, schema `stored_schema`: most records of most stores are that."""
    return pl.DataFrame(schema=stored_schema(spec))


@dataclass(frozen=True)
class Collection:
    """Every record but climate readings and journal, read in one transaction.

    `frames` holds all rows, withdrawn ones too; `collection["damage"]` gives the rows that count. `as_of` is the day it
    was cut to by `collection.as_of.as_known`, None where it was not.
    """

    version: Version
    frames: Mapping[str, pl.DataFrame]
    as_of: date | None = None

    @property
    def day(self) -> date:
        """The day it was cut to. ValueError for a collection that was not cut."""
        if self.as_of is None:
            raise ValueError("this collection was not cut to a day: call as_known first")
        return self.as_of

    def __getitem__(self, record: str) -> pl.DataFrame:
        """Rows of a record that were not withdrawn."""
        rows = self.frames[record]
        withdrawn = rows["withdrawn_on"]
        return rows if withdrawn.null_count() == rows.height else rows.filter(withdrawn.is_null())

    @classmethod
    def of(cls, frames: Mapping[str, pl.DataFrame], version: Version = ()) -> "Collection":
        """A collection from what there is; missing records are empty, missing columns null (row_version 1)."""
        records = {n: s for n, s in RECORDS.items() if n not in NOT_IN_SNAPSHOT}
        return cls(version, {name: _filled(spec, frames.get(name)) for name, spec in records.items()})


def _filled(spec: TableSpec, frame: pl.DataFrame | None) -> pl.DataFrame:
    if frame is None:
        return empty_rows(spec)
    schema = stored_schema(spec)
    ready = {"row_version": pl.lit(1), ENTRY_NO: pl.int_range(1, pl.len() + 1)}
    missing = [ready.get(n, pl.lit(None)).alias(n) for n in schema if n not in frame.columns]
    return frame.with_columns(missing).select(pl.col(n).cast(t) for n, t in schema.items())
