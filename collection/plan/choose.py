"""The way to the best plan by size of the table: at once, by prices, or both, from the better rule of thumb."""

import time
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from collection.plan.cuts import Planes, Search, lower
from collection.plan.large import Answer, solve_large
from collection.plan.mend import better
from collection.plan.parameters import Planning
from collection.plan.program import Program, Selection, total_worth
from collection.plan.small import everything, solve_whole


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
    """Half the time by prices, then, where the gap is not yet reached, the other half at once."""
    first = solve_large(program, figures, seconds / 2, start)
    reached = -np.inf if first.selection is None else total_worth(program, first.selection)
    if first.bound - reached <= figures.gap * abs(first.bound):
        return first
    solved = solve_whole(program, seconds / 2, figures.gap, first.selection)
    best = better(program, first.selection, solved.selection)
    bound = min(first.bound, solved.bound)
    return replace(first, selection=best, bound=bound, in_time=first.in_time and solved.in_time)
