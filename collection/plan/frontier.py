"""What other budgets would prevent, and what a little more of each limit really gives."""

from dataclasses import replace

import numpy as np
import polars as pl

from collection.frames import returns
from collection.plan.limits import Limits
from collection.plan.musts import MustsNotMet
from collection.plan.parameters import Planning, planning, trials
from collection.plan.plan import Plan, plan_of
from collection.plan.program import Selection

# times: the plan's money (and hours, where asked). prevented, bound: null where the musts cannot be met.
FRONTIER = pl.Schema(
    dict.fromkeys(("times", "money", "prevented", "bound"), pl.Float64) | {"treatments": pl.UInt32, "places": pl.UInt32}
)
# skill null: money. amount: how much more there is in all years together; gain: what it prevents more.
MORE = pl.Schema({"skill": pl.String} | dict.fromkeys(("more", "amount", "gain"), pl.Float64))


@returns(FRONTIER)
def frontier(
    plan: Plan, *, hours_too: bool = False, figures: Planning | None = None, seconds: float | None = None
) -> pl.DataFrame:
    """What budgets from none to twice the money prevent, schema FRONTIER; each starts from the smaller one's plan, so
    that it never falls. It need not be concave.

    hours_too : hours grow with the money. seconds : for each budget.
    """
    figures = figures or planning()
    program, limits = plan.basis.program, plan.basis.program.limits
    rows: list[tuple[object, ...]] = []
    start: Selection | None = None
    for times in trials().budgets:
        if times == 1:
            start = plan.basis.selection if start is None or _less(rows, plan) else start
        factors = np.full(limits.amount.size, times)
        factors[limits.years :] = times if hours_too else 1.0
        its = replace(program, limits=limits.times(factors))
        other = plan_of(its, figures, seconds or figures.seconds, start)
        money = times * _money(limits)
        if isinstance(other, MustsNotMet):
            rows.append((times, money, None, None, None, None))
            continue
        start = other.basis.selection
        rows.append((times, money, other.prevented, other.bound, other.lines.height, other.places.height))
    return pl.DataFrame(rows, schema=FRONTIER, orient="row")


def _less(rows: list[tuple[object, ...]], plan: Plan) -> bool:
    """Whether the last budget prevents less than the plan."""
    last = rows[-1][2] if rows else None
    return not isinstance(last, float) or last < plan.prevented


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
        for more in trials().more:
            factors = np.ones(limits.amount.size)
            factors[mine] += more
            program = replace(plan.basis.program, limits=limits.times(factors))
            other = plan_of(program, figures, seconds or figures.seconds, start)
            if isinstance(other, Plan):
                start = other.basis.selection
                amount = float((limits.amount * limits.unit)[mine].sum()) * more
                rows.append((skill, more, amount, other.prevented - plan.prevented))
    return pl.DataFrame(rows, schema=MORE, orient="row")
