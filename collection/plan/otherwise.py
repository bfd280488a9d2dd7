"""What the plan would be otherwise: with other budgets or a little more of a limit, other rates or another horizon."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace

import numpy as np
import polars as pl

from collection.frames import returns
from collection.plan.limits import Limits
from collection.plan.musts import MustsNotMet
from collection.plan.parameters import Planning, planning, trials
from collection.plan.plan import Plan, make_plan, plan_of
from collection.plan.program import Selection
from collection.plan.rules_of_thumb import BEST_PER_COST, HIGHEST_RISK
from collection.plan.situation import Situation
from collection.plan.stopping import asked_to_stop

Progress = Callable[[int, int], None]  # budgets that are done, budgets in all
# times: the plan's money (and hours, where asked). prevented, bound: null where the musts cannot be met; so is what a
# rule of thumb prevents, where it meets no must in time.
RULES = {"highest_risk_first": HIGHEST_RISK, "best_per_cost_first": BEST_PER_COST}
FRONTIER = pl.Schema(
    dict.fromkeys(("times", "money", "prevented", "bound", *RULES), pl.Float64)
    | {"treatments": pl.UInt32, "places": pl.UInt32}
)
# skill null: money. amount: how much more there is in all years together; gain: what it prevents more.
MORE = pl.Schema({"skill": pl.String} | dict.fromkeys(("more", "amount", "gain"), pl.Float64))
# if_judged: words; prevented in that judgement, in the plan's unit; null where it is planned no more.
OTHERWISE = pl.Schema(
    {
        "if_judged": pl.String(),
        "prevented": pl.Float64(),
        "come": pl.List(pl.String),
        "go": pl.List(pl.String),
    }
)
YEARS = ("years_short", "years_likely", "years_long")
c = pl.col


@returns(FRONTIER)
def frontier(
    plan: Plan, *, hours_too: bool = False, figures: Planning | None = None, seconds: float | None = None,
    progress: Progress = lambda done, of: None,
) -> pl.DataFrame:  # fmt: skip
    """What budgets from none to twice the money prevent, schema FRONTIER; each starts from the smaller one's plan, so
    that it never falls. It need not be concave. Those that nobody waited for are left out.

    hours_too : hours grow with the money. seconds : for each budget. progress : called before each budget.
    """
    figures = figures or planning()
    program, limits = plan.basis.program, plan.basis.program.limits
    rows: list[tuple[object, ...]] = []
    start: Selection | None = None
    budgets = trials().budgets
    for number, times in enumerate(budgets):
        if asked_to_stop():
            break
        progress(number, len(budgets))
        if times == 1:
            start = plan.basis.selection if start is None or _less(rows, plan) else start
        factors = np.full(limits.amount.size, times)
        factors[limits.years :] = times if hours_too else 1.0
        its = replace(program, limits=limits.times(factors))
        other = plan_of(its, figures, seconds or figures.seconds, start)
        start = start if isinstance(other, MustsNotMet) else other.basis.selection
        rows.append((times, times * _money(limits), *_of_budget(other)))
    return pl.DataFrame(rows, schema=FRONTIER, orient="row")


def _of_budget(other: Plan | MustsNotMet) -> tuple[float | None, ...]:
    """Columns of FRONTIER from `prevented` on."""
    if isinstance(other, MustsNotMet):
        return (None,) * (FRONTIER.len() - 2)
    of_rule = dict(other.rules.iter_rows())
    return other.prevented, other.bound, *(of_rule.get(name) for name in RULES.values()), other.lines.height, (
        other.places.height
    )  # fmt: skip


def _less(rows: list[tuple[object, ...]], plan: Plan) -> bool:
    """Whether the last budget prevents less than the plan."""
    last = rows[-1][2] if rows else None
    return not isinstance(last, float) or last < plan.prevented


def with_more_money(plan: Plan, amount: float, *, seconds: float | None = None) -> Plan:
    """The plan solved again with so much more money in its first year; never worse than the plan itself."""
    limits, figures = plan.basis.program.limits, planning()
    amounts = limits.amount.copy()
    amounts[0] += amount / limits.unit[0]
    program = replace(plan.basis.program, limits=replace(limits, amount=amounts))
    other = plan_of(program, figures, seconds or figures.seconds, plan.basis.selection)
    return plan if isinstance(other, MustsNotMet) else other


def _money(limits: Limits) -> float:
    return float((limits.amount * limits.unit)[: limits.years].sum() + limits.carried.sum() * limits.unit[0])


@returns(MORE)
def more_of_each(plan: Plan, *, figures: Planning | None = None, seconds: float | None = None) -> pl.DataFrame:
    """What a few per cent more of the money or of each skill's hours really prevent, solved again, schema MORE."""
    figures = figures or planning()
    limits, rows = plan.basis.program.limits, []
    for kind, skill in enumerate((None, *limits.skills)):
        mine = slice(kind * limits.years, (kind + 1) * limits.years)
        start = plan.basis.selection
        for more in () if asked_to_stop() else trials().more:
            factors = np.ones(limits.amount.size)
            factors[mine] += more
            program = replace(plan.basis.program, limits=limits.times(factors))
            other = plan_of(program, figures, seconds or figures.seconds, start)
            if isinstance(other, Plan):
                start = other.basis.selection
                amount = float((limits.amount * limits.unit)[mine].sum()) * more
                rows.append((skill, more, amount, other.prevented - plan.prevented))
    return pl.DataFrame(rows, schema=MORE, orient="row")


@returns(OTHERWISE)
def judged_otherwise(
    plan: Plan, groups: Mapping[str, Sequence[str]] | None = None, *, figures: Planning | None = None,
    seconds: float | None = None,
) -> pl.DataFrame:  # fmt: skip
    """The plan solved again with another horizon, all years longer or shorter, a group of rates higher, schema
    OTHERWISE.

    groups : by their names, rows of the rates whose rates are taken higher, one group after the other. seconds : for
        each.
    """
    figures = figures or planning()
    now = set(plan.lines["object_id"])
    rows: list[tuple[str, float | None, list[str], list[str]]] = []
    for words, its in _judgements(plan.basis.program.situation, groups or {}):
        if asked_to_stop():
            break
        other = make_plan(its, figures=figures, seconds=seconds)
        if isinstance(other, MustsNotMet):
            rows.append((words, None, [], []))
            continue
        then = set(other.lines["object_id"])
        rows.append((words, other.prevented, sorted(then - now), sorted(now - then)))
    return pl.DataFrame(rows, schema=OTHERWISE, orient="row")


def _judgements(its: Situation, groups: Mapping[str, Sequence[str]]) -> Iterator[tuple[str, Situation]]:
    times = trials().years_times
    yield (
        f"{trials().horizon_times:g} times the years ahead",
        replace(its, horizon=its.horizon * trials().horizon_times),
    )
    yield f"all years {times:g} times longer", replace(its, hazards=_years_times(its.hazards, times, None))
    yield f"all years {times:g} times shorter", replace(its, hazards=_years_times(its.hazards, 1 / times, None))
    for name, rows in groups.items():
        hazards = _years_times(its.hazards, 1 / times, rows)
        yield f"rates of {name} {times:g} times higher", replace(its, hazards=hazards)


def _years_times(hazards: pl.DataFrame, times: float, group: Sequence[str] | None) -> pl.DataFrame:
    """Hazards with their years multiplied, all of them or those of some rows of the rates."""
    mine = pl.lit(True) if group is None else c("rate_row").is_in(list(group))
    return hazards.with_columns(pl.when(mine).then(c(y) * times).otherwise(c(y)).alias(y) for y in YEARS)
