"""What the page of the plan works out, step by step: the plan, other budgets, draws; a sum of money; a loan."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any

from collection.plan.musts import MustsNotMet
from collection.plan.otherwise import frontier, judged_otherwise, more_of_each, with_more_money
from collection.plan.parameters import asking, planning, trials
from collection.plan.plan import Plan, make_plan
from collection.plan.stability import stability
from collection.planning.asides import Promise, unspent, with_loan
from collection.planning.situation import Question, situation_of
from collection.questions.learned_rates import rate_groups
from collection.questions.triage import Triage
from collection.questions.words import count
from dashboard.background import Task

Steps = Callable[[Task], Iterator[tuple[str, Any]]]
PATIENCE_S = 1.0  # that a page waits for work before it shows the last plan and says how far it is
PLAN, FRONTIER, NEXT, MORE, DRAWS, OTHERWISE = "plan", "frontier", "next", "more", "draws", "otherwise"
SUM, LENDING = "sum", "lending"


@dataclass(frozen=True)
class Lending:
    """What a loan asks for, and the plans without it and with it, or why there is none."""

    promise: Promise
    without: Plan | MustsNotMet
    together: Plan | MustsNotMet


def plan_steps(triage: Triage, question: Question) -> Steps:
    """The plan (or why there is none), what other budgets prevent, the plan with the next amount, a little more of each
    limit, how often each line stays in the plan.
    """

    def steps(task: Task) -> Iterator[tuple[str, Any]]:
        seconds = planning().seconds
        task.words = f"Working out the plan: {seconds:g} s at most"
        plan = make_plan(situation_of(triage, question))
        yield PLAN, plan
        if isinstance(plan, Plan):
            its = seconds / len(trials().budgets)  # all budgets together take no longer than the plan may
            yield FRONTIER, frontier(plan, seconds=its, progress=_budgets_done(task))
            task.words = "Working out what a little more would prevent"
            yield NEXT, with_more_money(plan, asking().next_amount, seconds=its)
            yield MORE, more_of_each(plan, seconds=its)
            task.words = "Drawing the starting values within their ranges"
            yield DRAWS, stability(plan)

    return steps


def otherwise_steps(plan: Plan, group: str) -> Steps:
    """The plan if the years, the horizon or a group of rates (none where empty) were judged otherwise."""
    rows = rate_groups(plan.basis.program.situation.hazards["rate_row"]).get(group)

    def steps(task: Task) -> Iterator[tuple[str, Any]]:
        task.words = "Working out the plan under other judgements"
        its = planning().seconds / len(trials().budgets)
        yield OTHERWISE, judged_otherwise(plan, {group: rows} if rows else None, seconds=its)

    return steps


def sum_steps(triage: Triage, amount: float, last: date) -> Steps:
    """What can be finished with a sum of money by its last day."""

    def steps(task: Task) -> Iterator[tuple[str, Any]]:
        task.words = "Working out what the sum can finish"
        yield SUM, make_plan(unspent(triage, amount, last))

    return steps


def lending_steps(triage: Triage, question: Question, loan_id: str) -> Steps:
    """The plans without a loan and with it."""

    def steps(task: Task) -> Iterator[tuple[str, Any]]:
        task.words = "Working out the plan without the loan and with it"
        promise = with_loan(triage, question, loan_id)
        yield LENDING, Lending(promise, make_plan(promise.without), make_plan(promise.together))

    return steps


def _budgets_done(task: Task) -> Callable[[int, int], None]:
    def progress(done: int, of: int) -> None:
        task.words = f"Working out other budgets: {done} of {count(of, 'budget')}"

    return progress
