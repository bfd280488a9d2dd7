"""What else `enamels plan` answers: how an accepted plan is followed, what a sum can finish, what a loan displaces."""

from collections.abc import Iterator
from dataclasses import asdict
from datetime import date
from typing import Any

import polars as pl

from collection.commands.output import Answer
from collection.commands.plan_answer import document, grid
from collection.plan.musts import MustsNotMet
from collection.plan.plan import Plan
from collection.planning.accepted import accepted_plan, happened
from collection.planning.asides import Promise
from collection.planning.situation import currency
from collection.questions import plan_followed
from collection.questions.loan_displaces import displaced, not_ready_sentence
from collection.questions.loan_displaces import sentence as displaced_sentence
from collection.questions.plan_sentences import sum_sentence
from collection.questions.triage import Triage
from collection.questions.year_plan import left_undone, money_words, schedule, sentence
from schemas.errors import NotFound

NONE_ACCEPTED = "no plan was accepted yet"


def against_actual(triage: Triage) -> Answer:
    """The accepted plan against what was done. Raises NotFound where none was accepted."""
    plan = accepted_plan(triage.collection)
    if plan is None:
        raise NotFound("--followed", NONE_ACCEPTED, "an accepted plan", "Accept one: `enamels plan --accept`.")
    rows = plan_followed.followed(triage, plan)
    since = happened(triage, plan)
    notes = (plan_followed.worth_sentence(plan, rows), plan_followed.happened_sentence(since))
    lines = [plan_followed.sentence(triage, plan, rows), *filter(None, notes), ""]
    its = {"plan_id": plan.plan_id, "made_on": plan.made_on.isoformat(), "lines": rows, "since": asdict(since)}
    words = "\n".join([*lines, *_followed_lines(rows, currency(triage))])
    return Answer(words, {**its, "totals": plan_followed.totals(rows)})


def _followed_lines(rows: pl.DataFrame, unit: str | None) -> Iterator[str]:
    for year in rows["year"].unique().sort():
        yield str(year)
        for row in rows.filter(pl.col("year") == year).iter_rows(named=True):
            named = ", ".join(filter(None, (row["object_id"], row["steps"])))
            yield f"  {row['option_id']} {named}: {row['stands']}{_figures(row, unit)}"


def _figures(row: dict[str, Any], unit: str | None) -> str:
    """*(6 h, planned 5; 80 GBP, planned 100)*, where both are known."""
    known = []
    if row["hours"] is not None and row["hours_planned"] is not None:
        known.append(f"{row['hours']:g} h, planned {row['hours_planned']:.3g}")
    if row["money"] is not None and row["money_planned"] is not None:
        known.append(f"{money_words(format(row['money'], 'g'), unit)}, planned {row['money_planned']:.3g}")
    return f" ({'; '.join(known)})" if known else ""


def with_a_sum(triage: Triage, plan: Plan, amount: float, last: date) -> Answer:
    """What can be finished with a sum of money by a day."""
    rows = schedule(triage, plan)
    head = sum_sentence(triage, plan, amount, last)
    words = "\n".join([head, *([grid(plan, rows)] if rows.height else [])])
    return Answer(words, document(triage, plan, rows, left_undone(triage, plan)))


def for_a_loan(triage: Triage, loan_id: str, promise: Promise, without: Plan, together: Plan | MustsNotMet) -> Answer:
    """The plan with a loan next to the plan without it."""
    plain = document(triage, without, schedule(triage, without), left_undone(triage, without))
    its = {"loan_id": loan_id, "leaves_on": promise.leaves_on.isoformat(), "asked": promise.asked, "without": plain}
    head = f"Without it: {sentence(without)}"
    if isinstance(together, MustsNotMet):
        words = not_ready_sentence(loan_id, promise.leaves_on, together)
        return Answer(f"{words}\n{head}", {**its, "together": None, "displaced": []})
    rows = displaced(triage, without, together, promise.asked)
    words = displaced_sentence(loan_id, promise.leaves_on, rows, without, together, promise.no_option)
    whole = document(triage, together, schedule(triage, together), left_undone(triage, together))
    lines = [words, *map(_moved, rows.iter_rows(named=True)), head, f"With it: {sentence(together)}"]
    return Answer("\n".join(lines), {**its, "together": whole, "displaced": rows})


def _moved(row: dict[str, Any]) -> str:
    """*O0069, OB 4: 2027, falls out*."""
    named = ", ".join(filter(None, (row["option_id"], row["object_id"])))
    if row["together"] is None:
        return f"  {named}: {row['without']}, falls out"
    came = f"{row['without']}, moves to" if row["without"] is not None else "comes in"
    return f"  {named}: {came} {row['together']}{' for the loan' if row['of_loan'] else ''}"
