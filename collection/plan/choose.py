"""Which plan is best: the way to it by size of the table, and which of several of equal worth.

A table is solved at once, by prices, or both, from the better rule of thumb. Of equal plans the smaller object comes
first, then the smaller option, then the earlier year.
"""

import time
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from collection.plan.cuts import Planes, Search, lower
from collection.plan.large import Answer, solve_large
from collection.plan.mend import Room, better
from collection.plan.model import Freedom, build
from collection.plan.parameters import Planning
from collection.plan.program import Program, Selection, total_worth
from collection.plan.rounding import rounded
from collection.plan.solve import Effort, Solved, solve


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


def everything(program: Program) -> Freedom:
    """All blocks free, every place in any state."""
    return Freedom(np.arange(len(program.blocks)), tuple(tuple(range(len(p.states))) for p in program.places))


def solve_whole(program: Program, seconds: float, gap: float, start: Selection | None) -> Solved:
    """The best plan of the whole table, within a gap as a share of the bound."""
    return solve(build(program, everything(program)), Effort(seconds, gap), start)


def relaxation(program: Program, seconds: float) -> float:
    """What could be prevented if choices need not be whole, in the plan's unit."""
    return solve(build(program, everything(program)), Effort(seconds, 0.0, whole=False)).bound / program.scale


def settle(program: Program, selection: Selection) -> Selection:
    """The same worth in smaller numbers: each block in order takes its first choice of equal worth that fits, and of
    blocks that could stand for each other those that come first are chosen.
    """
    room = Room(program, _first_of_alike(program, selection))
    every = np.arange(program.options.shape[0])
    worth = program.worth_of(every, room.states)
    chosen_worth = worth[room.choices]
    block = program.block_of
    equal = np.flatnonzero((worth == chosen_worth[block]) & (every != room.choices[block]))
    key = (program.years[equal], program.options[equal])
    for choice in equal[np.lexsort((key[0].sum(axis=1), key[1].max(axis=1), block[equal]))].tolist():
        at = int(block[choice])
        if _smaller(program, choice, int(room.choices[at])):
            room.fits(at, choice)
    return room.selection


def _smaller(program: Program, one: int, other: int) -> bool:
    """Whether a choice comes before another of the same block: its options first, then its years."""
    return (program.options[one].tolist(), program.years[one].tolist()) < (
        program.options[other].tolist(), program.years[other].tolist(),
    )  # fmt: skip


def _first_of_alike(program: Program, selection: Selection) -> Selection:
    """Of blocks with the same choices to the last figure, the first in order get what was chosen for them, in order."""
    choices = selection.choices.copy()
    alike: dict[bytes, list[int]] = {}
    for block in _candidates(program, selection):
        alike.setdefault(_likeness(program, block), []).append(block)
    for blocks in alike.values():
        if len(blocks) > 1:
            offsets = sorted((int(choices[b] - program.starts[b]) for b in blocks), key=lambda n: (n == 0, n))
            for block, offset in zip(sorted(blocks, key=lambda b: program.blocks[b]), offsets, strict=True):
                choices[block] = program.starts[block] + offset
    return Selection(choices, selection.states)


def _candidates(program: Program, selection: Selection) -> list[int]:
    """Blocks that have as many choices, and worth as much in all, as another one."""
    sums = np.add.reduceat(program.worth_of(np.arange(program.options.shape[0]), selection.states), program.starts[:-1])
    keys = np.stack([np.diff(program.starts), program.place_of, np.round(sums)], axis=1)
    _, at, counts = np.unique(keys, axis=0, return_inverse=True, return_counts=True)
    return np.flatnonzero(counts[at.ravel()] > 1).tolist()


def _likeness(program: Program, block: int) -> bytes:
    """All figures of a block's choices but the numbers of its options."""
    where = slice(int(program.starts[block]), int(program.starts[block + 1]))
    place = int(program.place_of[block])
    first = program.place_choices[place].start
    worth = program.worth[place][:, where.start - first : where.stop - first]
    figures = (worth, program.years[where], program.use_row[where], program.use_amount[where], program.setup[where])
    return b"|".join(np.ascontiguousarray(f).tobytes() for f in figures)
