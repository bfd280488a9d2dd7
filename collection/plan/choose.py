"""The way to the best plan by size of the table: at once, by prices, or both, from the better rule of thumb."""

import time
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

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
    """Half the time by prices, then, where the gap is not yet reached, the other half at once.

    The relaxation of the whole table is soon solved at these sizes, and is a lower bound than that by prices where
    set-up work is shared by several places.
    """
    ends = time.monotonic() + seconds
    model = build(program, everything(program))
    relaxed = solve(model, Effort(seconds / 2, 0.0, whole=False))
    ceiling = relaxed.bound if relaxed.in_time else np.inf
    first = solve_large(program, figures, (ends - time.monotonic()) / 2, start, ceiling)
    reached = -np.inf if first.selection is None else total_worth(program, first.selection)
    left = ends - time.monotonic()
    if first.bound - reached <= figures.gap * abs(first.bound) or left <= 0:
        return first
    solved = solve(model, Effort(left, figures.gap), first.selection)
    best = better(program, first.selection, solved.selection)
    return replace(first, selection=best, bound=min(first.bound, solved.bound), in_time=solved.in_time)
