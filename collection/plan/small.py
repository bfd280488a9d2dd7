"""The small way: the whole table, every state of every place, to the solver at once."""

import numpy as np

from collection.plan.model import Freedom, build
from collection.plan.program import Program, Selection
from collection.plan.solve import Effort, Solved, solve


def everything(program: Program) -> Freedom:
    """All blocks free, every place in any state."""
    return Freedom(np.arange(len(program.blocks)), tuple(tuple(range(len(p.states))) for p in program.places))


def solve_whole(program: Program, seconds: float, gap: float, start: Selection | None) -> Solved:
    """The best plan of the whole table, within a gap as a share of the bound."""
    return solve(build(program, everything(program)), Effort(seconds, gap), start)


def relaxation(program: Program, seconds: float) -> float:
    """What could be prevented if choices need not be whole, in the plan's unit."""
    return solve(build(program, everything(program)), Effort(seconds, 0.0, whole=False)).bound / program.scale
