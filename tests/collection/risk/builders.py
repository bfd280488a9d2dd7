"""Small collections and frames of hazards for tests: what is not said is empty or plain."""

from collections.abc import Mapping, Sequence
from datetime import date
from functools import cache
from math import log10
from typing import Any

import polars as pl

from collection.as_of import as_known
from collection.pipeline import assess
from collection.questions.triage import Triage
from collection.risk.hazards import with_loss
from collection.risk.object_risk import Risk, loss_over, object_risk
from collection.risk.rates import RatesTable
from collection.snapshot import Collection, stored_schema
from collection.store.engines import PolarsEngine
from schemas.fields import Partial
from schemas.tables import RECORDS

AS_OF = date(2026, 11, 1)
Rows = Sequence[Mapping[str, Any]]
TYPES = {str: pl.String, float: pl.Float64, bool: pl.Boolean}


def register(**records: Rows) -> Collection:
    """A collection from rows as dictionaries; a day or year written as text gives its earliest and latest day."""
    return Collection.of({name: _frame(name, rows) for name, rows in records.items()})


def _frame(record: str, rows: Rows) -> pl.DataFrame:
    schema = stored_schema(RECORDS[record])
    partial = [column.name for column in RECORDS[record].marked(Partial)]
    filled = [{**row, **_days(row, partial)} for row in rows]
    return pl.DataFrame(filled, schema={n: t for n, t in schema.items() if any(n in row for row in filled)})


def _days(row: Mapping[str, Any], partial: list[str]) -> dict[str, Any]:
    given = {name: row[name] for name in partial if row.get(name)}
    return {f"{name}_{end}": _end(day, end) for name, day in given.items() for end in ("earliest", "latest")}


def _end(written: str, end: str) -> date:
    """Earliest or latest day of a day, or of a year alone."""
    rest = {"earliest": "-01-01", "latest": "-12-31"}[end]
    return date.fromisoformat(written if len(written) > len("1974") else written + rest)


def check(check_id: str, object_id: str, day: str = "2026-06-01", **more: Any) -> dict[str, Any]:
    """A check by inspection."""
    return {"check_id": check_id, "object_id": object_id, "checked_on": day, "look": "inspection", **more}


def assessed(collection: Collection, hours: pl.DataFrame | None = None, as_of: date = AS_OF) -> Risk:
    """The collection's risk with starting values, in Polars."""
    known = as_known(collection, as_of)
    return assess(known, RatesTable.of(known), PolarsEngine(), hours)


def triaged(collection: Collection, as_of: date = AS_OF, hours: pl.DataFrame | None = None) -> Triage:
    """The collection assessed on the day, with its classes."""
    known = as_known(collection, as_of)
    rates = RatesTable.of(known)
    return Triage.of(known, rates, assess(known, rates, PolarsEngine(), hours))


def hazard_rows(*rows: Mapping[str, Any]) -> pl.DataFrame:
    """Hazards from years, share, reach and depth alone: modifier 1, no moves, figures sure."""
    plain: dict[str, Any] = {
        "object_id": "O",
        "part": "p",
        "years": 3.0,
        "reach": 0.3,
        "loss_depth": 1.0,
        "part_share": 1.0,
        "nested": False,
    }
    full = [plain | dict(row) for row in rows]
    frame = pl.DataFrame(full, schema={n: TYPES[type(v)] for n, v in plain.items()})
    years = ("years_short", "years_likely", "years_long")
    affected = ("affected_low", "affected_share", "affected_high")
    named = frame.with_columns(
        *(pl.col("years").alias(name) for name in years),
        *(pl.col("reach").alias(name) for name in affected),
        *(pl.lit(False).alias(n) for n in ("state_assumed", "share_assumed", "area_assumed", "area_estimated")),
        mean_rate=1 / pl.col("years"),
        quiet_factor=pl.lit(1.0),
        modifier=pl.lit(1.0),
        handling_rate=pl.lit(0.0),
        planned_rate=pl.lit(0.0),
        extent_basis=pl.lit("measured"),
        hazard_id=pl.format("damage:{}", pl.int_range(pl.len()).cast(pl.String).str.zfill(3)),
    )
    return with_loss(named.lazy(), mean_of_range=1.0).collect().sort("hazard_id")


def objects_of(hazards: pl.DataFrame) -> pl.DataFrame:
    """The objects of the hazards, each worth the same."""
    ids = hazards.select("object_id").unique()
    return ids.with_columns(
        location_id=pl.lit(None, pl.String),
        look=pl.lit("inspection"),
        last_checked_on=pl.lit(AS_OF),
        value_share=1 / pl.len(),
        value_assumed=pl.lit(False),
        unchecked_loss=pl.lit(0.0),
    )


@cache
def starting_values() -> RatesTable:
    """The rates of a museum that has none of its own."""
    return RatesTable.of(Collection.of({}))


def risk_of(hazards: pl.DataFrame) -> dict[str, Any]:
    """The risk row of the only object."""
    objects = objects_of(hazards).lazy()
    lazy = object_risk(hazards.lazy(), objects, starting_values())
    return lazy.collect().row(0, named=True)


def annual_losses(*collections: Sequence[Mapping[str, Any]]) -> list[float]:
    """Annual loss of objects of these hazards, each the only one of its collection, in one computation."""
    rows = [row | {"object_id": f"{number:03}"} for number, hazards in enumerate(collections) for row in hazards]
    hazards = hazard_rows(*rows)
    objects = objects_of(hazards).with_columns(value_share=1.0).lazy()
    risk = object_risk(hazards.lazy(), objects, starting_values()).collect()
    by_object = dict(risk.select("object_id", "annual_loss").rows())
    return [by_object.get(f"{number:03}", 0.0) for number in range(len(collections))]


def magnitude(annual_loss: float) -> float:
    """A loss [share of value a year] on the published scale of 0 to 15."""
    return 15 + log10(annual_loss)


def loss_of(hazards: pl.DataFrame, years: float) -> float:
    """Expected loss of the only object over so many years."""
    return loss_over(hazards.lazy(), years).collect()["expected_loss"].item()
