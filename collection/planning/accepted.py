"""The plan that the house follows: the last one that was accepted, with its lines as they were then."""

from dataclasses import dataclass
from datetime import date

import polars as pl

from collection.snapshot import Collection
from schemas.records.plan import ACCEPTED


@dataclass(frozen=True)
class AcceptedPlan:
    """An accepted plan as it was drawn up: what changed since changes none of its figures.

    lines : columns of record `plan_line`. prevented, bound : in `unit`.
    """

    plan_id: str
    made_on: date
    first_year: int
    years: int
    horizon: float
    unit: str
    prevented: float
    bound: float
    lines: pl.DataFrame


def accepted_plan(collection: Collection) -> AcceptedPlan | None:
    """The plan that is followed now; None where none was accepted."""
    standing = collection["plan"].filter(pl.col("status") == ACCEPTED).sort("made_on", "entry_no")
    if standing.is_empty():
        return None
    row = standing.row(-1, named=True)
    lines = collection["plan_line"].filter(pl.col("plan_id") == row["plan_id"]).sort("year", "option_id")
    names = [n for n in AcceptedPlan.__dataclass_fields__ if n != "lines"]
    return AcceptedPlan(**{n: row[n] for n in names}, lines=lines)
