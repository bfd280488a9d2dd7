"""The plan that the house follows: the last one accepted, as it was then, and what was lost since of its objects."""

from dataclasses import dataclass
from datetime import date

import polars as pl

from collection.learning.inspected_lines import inspected_lines
from collection.learning.seen_losses import seen_losses, seen_total, spans
from collection.questions.triage import Triage
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


@dataclass(frozen=True)
class Happened:
    """objects : of the plan's lines. checked : of these, looked at before the plan and since. lost [share of the
    collection's value]. unmeasured : places in which something happened and nobody wrote how much.
    """

    objects: int
    checked: int
    lost: float
    unmeasured: int


def happened(triage: Triage, plan: AcceptedPlan) -> Happened:
    """What the checks since the day of a plan's figures saw lost of its objects."""
    known, checks, rates = triage.collection, triage.risk.checks, triage.rates
    mine = known["option"].join(plan.lines, on="option_id", how="semi").select("object_id").drop_nulls().unique()
    looked = spans(checks, plan.made_on).join(mine, on="object_id", how="semi")
    seen = seen_losses(known, inspected_lines(known, checks, rates), looked, rates)
    lost = seen_total(seen, triage.risk.objects.select("object_id", "value_share"))
    return Happened(mine.height, looked.height, lost, int(seen["unmeasured"].sum()))
