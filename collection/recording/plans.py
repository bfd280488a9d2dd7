"""Accepting a plan: it is written with its lines, its options are agreed, the plan followed so far is superseded.

All in one write: whole or not at all.
"""

import json
from datetime import date

import polars as pl

from collection.plan.plan import Plan
from collection.planning.accepted import AcceptedPlan, accepted_plan
from collection.questions.words import count
from collection.snapshot import Collection
from collection.store import Change, Store
from collection.validation.problems import ROW
from collection.validation.validate import validate
from schemas.errors import RegisterError
from schemas.records.plan import ACCEPTED, SUPERSEDED
from schemas.vocabularies import vocabulary

PLAN, LINE, OPTION = "plan", "plan_line", "option"
CENTS = 2  # decimals of money
c = pl.col


def accept(store: Store, seen: Collection, plan: Plan, *, by: str, today: date, note: str = "") -> str:
    """Write a plan as accepted; returns what came of it in a sentence.

    seen : the collection that the plan was made from: where somebody changed one of its options since, or accepted
        another plan, nothing is written.
    """
    if not by.strip():
        return "First give your name."
    rows = _lines(plan)
    if rows.is_empty():
        return "Nothing was written: the plan is empty."
    held, former = store.read(), accepted_plan(seen)
    if (latest := accepted_plan(held)) and (former is None or latest.plan_id != former.plan_id):
        return f"Nothing was written: {latest.plan_id} was accepted meanwhile. Make the plan again."
    if former is not None and _same(rows, former):
        return f"Nothing was written: {former.plan_id}, which is followed already, has the same lines."
    number = _next_number(set(held.frames[PLAN]["plan_id"]))
    record = _plan(plan, number, seen.day, by.strip(), note.strip())
    judged = validate({PLAN: record, LINE: rows.with_columns(plan_id=pl.lit(number))}, seen, today=today)
    if judged.accepted.get(LINE, pl.DataFrame()).height < rows.height:
        return f"Nothing was written: {'; '.join(judged.problems['words'].unique(maintain_order=True))}."
    new = {name: judged.accepted[name].drop(ROW, "from_row") for name in (PLAN, LINE)}
    plans = pl.concat([new[PLAN], _superseded(seen, former, new[PLAN])])
    change = Change({PLAN: plans, LINE: new[LINE], OPTION: _options(seen, rows, former)}, whole=True)
    return _written(store, change, plan, former, by)


def _written(store: Store, change: Change, plan: Plan, former: AcceptedPlan | None, by: str) -> str:
    number = change.rows[LINE]["plan_id"][0]
    try:
        written = store.write(change, by=by.strip())
    except RegisterError as error:
        return f"Nothing was written. {error}"
    if written.conflicts.height:
        keys = [json.loads(key) for key in written.conflicts["key"].unique(maintain_order=True)]
        whose = ", ".join("/".join(map(str, key.values())) for key in keys)
        return f"Nothing was written: somebody else changed {whose} meanwhile. Make the plan again."
    works = count(plan.lines.height, "treatment")
    if plan.places.height:
        works += f" and {count(plan.places.height, 'work on a place', 'works on places')}"
    follows = f" It follows {former.plan_id}, which is superseded." if former else ""
    return f"Accepted as {number}: {works} in {_span(plan)}.{follows}"


def _same(rows: pl.DataFrame, former: AcceptedPlan) -> bool:
    """Whether the lines are those of the plan followed so far: options and years, hours and money to the cent."""
    amounts = (c(n).cast(pl.Float64).round(CENTS) for n in ("hours", "money"))
    names = ["option_id", c("year").cast(pl.Int32), *amounts]
    mine, theirs = (f.select(names).sort("option_id", "year") for f in (rows, former.lines))
    return mine.equals(theirs)


def _span(plan: Plan) -> str:
    last = plan.first_year + plan.years - 1
    return str(last) if plan.years == 1 else f"{plan.first_year} to {last}"


def _next_number(used: set[str]) -> str:
    """A number no plan has, withdrawn ones included, after the largest there is."""
    numbers = [int(name[2:]) for name in used if name[:2] == "PL" and name[2:].isdigit()]
    return f"PL{max(numbers, default=0) + 1}"


def _plan(plan: Plan, number: str, day: date, by: str, note: str) -> pl.DataFrame:
    row = {
        ROW: 1, "plan_id": number, "made_on": day, "made_by": by, "first_year": plan.first_year, "years": plan.years,
        "horizon": plan.horizon, "status": ACCEPTED, "unit": "money" if plan.in_money else "share",
        "prevented": plan.prevented, "bound": plan.bound, "stopped": plan.stopped, "note": note or None,
    }  # fmt: skip
    return pl.DataFrame([row], schema_overrides={ROW: pl.Int64, "stopped": pl.Float64, "note": pl.String})


def _lines(plan: Plan) -> pl.DataFrame:
    """Treatments and works on places as rows of the record, their plan's number left out."""
    hours = plan.basis.program.situation.option_hours.group_by("option_id").agg(c("hours").sum())
    works = plan.places.join(hours, on="option_id", how="left").with_columns(must=pl.lit(value=False))
    names = ("option_id", "year", "hours", "money", "worth", "must")
    both = pl.concat([plan.lines.select(names), works.select(names)])
    return both.with_columns(c("money").round(CENTS)).with_row_index(ROW, 1).cast({ROW: pl.Int64})


def _options(seen: Collection, rows: pl.DataFrame, former: AcceptedPlan | None) -> pl.DataFrame:
    """Planned options as agreed; those of the plan followed so far that are planned no more wait again."""
    status = vocabulary("option_status")
    (agreed, *_) = status.terms_where("agreed")
    (waiting, *_) = (term for term in status.terms_where("backlog") if term != agreed)
    before = pl.Series(dtype=pl.String) if former is None else former.lines["option_id"]
    planned = c("option_id").is_in(rows["option_id"].implode())
    dropped = ~planned & c("option_id").is_in(before.implode()) & (c("status") == agreed)
    mine = seen[OPTION].filter(planned | dropped)
    named = pl.when(planned).then(pl.lit(agreed)).otherwise(pl.lit(waiting))
    return mine.select("option_id", "row_version", status=named)


def _superseded(seen: Collection, former: AcceptedPlan | None, like: pl.DataFrame) -> pl.DataFrame:
    """The plan followed so far, whole, with its new standing."""
    number = "" if former is None else former.plan_id
    rows = seen[PLAN].filter(c("plan_id") == number).with_columns(status=pl.lit(SUPERSEDED))
    return rows.select(c(n).cast(t) for n, t in like.schema.items())
