"""The way to the best plan by size of the table: at once, by prices, or both, from the better rule of thumb."""

import time
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from collection.plan.core import rounded
from collection.plan.cuts import Planes, Search, lower
from collection.plan.large import Answer, solve_large
from collection.plan.mend import better
from collection.plan.model import build
from collection.plan.parameters import Planning
from collection.plan.program import Program, Selection, total_worth
from collection.plan.small import everything, solve_whole
from collection.plan.solve import Effort, solve


def size(program: Program) -> int:
    """Objects with an option x years."""
    return int((np.diff(program.starts) > 1).sum()) * program.situation.years


def choose(program: Program, figures: Planning, seconds: float, starts: Sequence[Selection | None]) -> Answer:
    """The best plan within the figures' gap, or the seconds; never worse than any start, each of which must fit."""
    start: Selection | None = None
    for its in starts:
        start = better(program, start, its)
    if size(program) <= figures.exact_up_to:
        return _at_once(program, figures, seconds, start)
    if size(program) <= figures.both_up_to:
        return _both(program, figures, seconds, start)
    return solve_large(program, figures, seconds, start)


def _at_once(program: Program, figures: Planning, seconds: float, start: Selection | None) -> Answer:
    """The whole table solved, with prices of the limits."""
    ends = time.monotonic() + seconds
    solved = solve_whole(program, seconds, figures.gap, start)
    search = Search(figures.gap**2, figures.evaluations * 2, ends)
    zero = np.zeros(program.limits.amount.size)
    root = lower(Planes(program), everything(program).states, zero, search, lambda _: False)
    best = better(program, start, solved.selection)
    reached = -np.inf if best is None else total_worth(program, best)
    return Answer(best, max(min(solved.bound, root.value), reached), root.at.prices, solved.in_time)


def _both(program: Program, figures: Planning, seconds: float, start: Selection | None) -> Answer:
    """Half the time by prices, then, where the gap is not yet reached, at once: first with objects that may be treated
    in part, which decides places and set-up work and is soon solved at these sizes; then, from the plan near it, whole.

    Prices alone leave set-up work in doubt that several places share: each of them decides for itself.
    """
    ends = time.monotonic() + seconds
    model = build(program, everything(program))
    relaxed = solve(model, Effort(seconds / 2, figures.gap, objects_whole=False))
    first = solve_large(program, figures, (ends - time.monotonic()) / 2, start, relaxed.bound)
    best, clocked = first.selection, relaxed.clocked or not first.in_time
    if not _near(program, figures, first.bound, best) and relaxed.feasible and relaxed.column.any():
        gap, left = figures.gap * abs(relaxed.bound) / 2, max(0.0, ends - time.monotonic())
        effort = Effort(left / 2, 0.0, gap, figures.core_nodes, presolve=False)
        near = rounded(program, figures, model, relaxed.column, first.prices, effort)
        if near is not None:
            best, clocked = better(program, best, near.selection), clocked or near.clocked
    left = ends - time.monotonic()
    if _near(program, figures, first.bound, best) or left <= 0:
        return replace(first, selection=best, in_time=not clocked and left > 0)
    solved = solve(model, Effort(left, figures.gap, presolve=False), best)
    best = better(program, best, solved.selection)
    bound = min(first.bound, solved.bound)
    return replace(first, selection=best, bound=bound, in_time=solved.in_time and not clocked)


def _near(program: Program, figures: Planning, bound: float, selection: Selection | None) -> bool:
    """Whether a selection is within the gap of a bound."""
    return selection is not None and bound - total_worth(program, selection) <= figures.gap * abs(bound)
