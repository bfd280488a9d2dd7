"""The register as it was known on a day: one cut, made once, before anything is computed.

A record says in its declaration from when a row counts (`known_from`) and which day ends something (`ended_by`).
A date known only to the month or year has happened from its earliest day.
"""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date

import polars as pl

from collection.settings import Settings
from collection.snapshot import Collection
from schemas.fields import ForeignKey, Partial
from schemas.records.condition import ConditionCheck
from schemas.tables import RECORDS, Column, TableSpec, parents_first

CHECK = ConditionCheck.record
SUPERSEDES = "supersedes_check_id"


def as_known(collection: Collection, day: date) -> Collection:
    """What the register knew on `day`: later rows dropped with all that hangs on them, superseded checks replaced,
    what was closed after the day open again. Withdrawn rows are dropped. `as_of` of the result is the day.
    """
    zone = Settings.of(collection).zone
    known: dict[str, pl.DataFrame] = {}
    dropped: dict[str, pl.Series] = {}
    for name in parents_first():
        if name in collection.frames:
            rows = collection[name]
            here = rows if rows.is_empty() else _happened(rows, RECORDS[name], dropped, day, zone)
            known[name] = here if here.is_empty() else _undone(here, RECORDS[name], day)
            dropped[name] = _missing(rows, known[name], RECORDS[name])
    return replace(collection, frames=known, as_of=day)


def _happened(
    rows: pl.DataFrame, spec: TableSpec, dropped: Mapping[str, pl.Series], day: date, zone: str | None
) -> pl.DataFrame:
    """Rows that were true by the day, and whose parents were."""
    columns = [spec.column(name) for name in spec.model.known_from]
    days = [_first_day(c, zone) for c in columns if c.mark(ForeignKey) is None]
    late = pl.coalesce(days) > day if days else pl.lit(value=False)
    came_with = [c for c in columns if c.mark(ForeignKey)] + [c for c in spec.marked(ForeignKey) if c.required]
    gone = [pl.col(c.name).is_in(_of(c, dropped).implode()) for c in came_with if _of(c, dropped).len()]
    here = rows.filter(~pl.any_horizontal(late, *gone).fill_null(value=False)) if days or gone else rows
    return _uncorrected(here) if spec.name == CHECK else here


def _of(column: Column, dropped: Mapping[str, pl.Series]) -> pl.Series:
    """Keys of the rows dropped from the record a column points to."""
    target = column.mark(ForeignKey)
    return dropped.get(target.record if target else "", pl.Series(dtype=pl.String))


def _first_day(column: Column, zone: str | None) -> pl.Expr:
    """First day something can have happened; a moment on the museum's own calendar."""
    if column.mark(Partial):
        return pl.col(f"{column.name}_earliest")
    if isinstance(column.dtype, pl.Datetime):
        return local_day(column.name, zone)
    return pl.col(column.name)


def local_day(name: str, zone: str | None) -> pl.Expr:
    """The day of a moment kept in UTC, in the museum's time zone; without one, in that of this computer."""
    moment = pl.col(name).dt.replace_time_zone("UTC")
    if zone:
        return moment.dt.convert_time_zone(zone).dt.date()
    return moment.map_elements(lambda at: at.astimezone().date(), return_dtype=pl.Date)


def _uncorrected(checks: pl.DataFrame) -> pl.DataFrame:
    """Checks that no later one corrects."""
    corrected = checks[SUPERSEDES].drop_nulls()
    return checks if corrected.is_empty() else checks.filter(~pl.col("check_id").is_in(corrected.implode()))


def _undone(rows: pl.DataFrame, spec: TableSpec, day: date) -> pl.DataFrame:
    """What ended after the day had not ended yet."""
    emptied = [
        pl.when((pl.col(end) <= day).fill_null(value=True)).then(pl.col(n)).alias(n)
        for end, more in spec.model.ended_by.items()
        for n in (end, *more)
    ]
    return rows.with_columns(emptied) if emptied else rows


def _missing(rows: pl.DataFrame, standing: pl.DataFrame, spec: TableSpec) -> pl.Series:
    """First key of the rows that were dropped; other records point to it."""
    if rows.height == standing.height:
        return pl.Series(dtype=pl.String)
    return rows.select(spec.key).join(standing.select(spec.key), on=spec.key, how="anti")[spec.key[0]].cast(pl.String)
