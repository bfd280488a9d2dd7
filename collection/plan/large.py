"""The large way: prices of the limits, a plan that fits, a core solved exactly, branches on the states of places.

The bound holds at every moment: it is that of the branches not yet looked into.
"""

import time
from dataclasses import dataclass, field, replace

import numpy as np
import numpy.typing as npt

from collection.plan.cuts import Bound, Planes, Search, States, first_prices, lower
from collection.plan.mend import better, mend
from collection.plan.parameters import Planning, solver
from collection.plan.program import Program, Selection, total_worth
from collection.plan.rounding import improved, mixed
from collection.plan.solve import Effort
from collection.plan.stopping import asked_to_stop

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Answer:
    """selection : the best there is, null where none fits. bound : no plan is worth more. prices : of the limits.
    in_time : whether no clock ended the search.
    """

    selection: Selection | None
    bound: float
    prices: Array
    in_time: bool


@dataclass(frozen=True)
class Branch:
    """States that places may be in, and the bound there."""

    states: States
    root: Bound


@dataclass
class Climb:
    """The search as it goes: planes, the best plan, and bounds of branches that are done with.

    planned : states of the places that a plan was worked out for, and with how many nodes. late : its time is over.
    clocked : a step of it was ended by the clock, so that another machine may do better.
    """

    program: Program
    figures: Planning
    planes: Planes
    ends: float
    best: Selection | None
    gap: float
    ceiling: float
    closed: list[float] = field(default_factory=list)
    late: bool = False
    clocked: bool = False
    planned: dict[States, int] = field(default_factory=dict)

    @property
    def reached(self) -> float:
        """What the best plan prevents, in the table's unit."""
        return -np.inf if self.best is None else total_worth(self.program, self.best)

    def enough(self, bound: float) -> bool:
        """Whether a bound leaves no more than the gap."""
        return min(bound, self.ceiling) - self.reached <= self.gap * max(abs(bound), self.gap)


def solve_large(
    program: Program, figures: Planning, seconds: float, start: Selection | None, ceiling: float = np.inf
) -> Answer:
    """A plan and a bound by prices, within the gap, so many branches or the time; `ceiling`: a bound known before."""
    ends = time.monotonic() + seconds
    climb = Climb(program, figures, Planes(program), ends, start, figures.gap, ceiling)
    every = tuple(tuple(range(len(place.states))) for place in program.places)
    root = _bounded(climb, every, first_prices(program, figures, ends), figures.evaluations)
    branches = [Branch(every, root)]
    _plan_at(climb, root, figures.core_nodes)
    for _ in range(figures.nodes):
        branches.sort(key=lambda b: b.root.value)
        if not branches or climb.enough(branches[-1].root.value) or _late(climb):
            break
        branches += _split(climb, branches.pop())
    highest = max([b.root.value for b in branches] + climb.closed, default=climb.reached)
    in_time = not (climb.late or climb.clocked)
    return Answer(climb.best, max(min(highest, ceiling), climb.reached), root.at.prices, in_time)


def _late(climb: Climb) -> bool:
    climb.late = climb.late or asked_to_stop() or time.monotonic() > climb.ends
    return climb.late


def _bounded(climb: Climb, states: States, prices: Array, evaluations: int) -> Bound:
    search = Search(climb.gap / 10, evaluations, climb.ends)
    return lower(climb.planes, states, prices, search, climb.enough)


def _split(climb: Climb, branch: Branch) -> list[Branch]:
    """A branch cut in two at the place that is least decided: the state of most weight, or any other."""
    undecided = [1 - w.max() if len(s) > 1 else -1.0 for w, s in zip(branch.root.weights, branch.states, strict=True)]
    place = int(np.argmax(undecided))
    if undecided[place] <= climb.gap:
        _plan_at(climb, branch.root, climb.figures.core_nodes)
        climb.closed.append(branch.root.value)
        return []
    state = int(branch.root.weights[place].argmax())
    rest = tuple(s for s in branch.states[place] if s != state)
    halves = []
    for its in ((state,), rest):
        states = (*branch.states[:place], its, *branch.states[place + 1 :])
        root = _bounded(climb, states, branch.root.at.prices, climb.figures.evaluations // 2)
        root = replace(root, value=min(root.value, branch.root.value))
        if not climb.enough(root.value):
            _plan_at(climb, root, climb.figures.branch_core_nodes)
        if climb.enough(root.value):
            climb.closed.append(root.value)
        else:
            halves.append(Branch(states, root))
    return halves


def _plan_at(climb: Climb, root: Bound, nodes: int) -> None:
    """A plan from a bound: places in the states of most weight, prices lowered there, mended, its core solved exactly.

    What is best at the prices is mended, and what the evaluations choose that the bound rests on. Where all blocks are
    in the core, prices need not be lowered first.
    """
    states = tuple((int(s),) for s in root.states)
    if climb.planned.get(states, 0) >= nodes:
        return
    climb.planned[states] = nodes
    program = climb.program
    its = _decided(climb, root, states) if len(program.blocks) > climb.figures.core else root
    prices = its.at.prices
    at_prices = np.concatenate([c[s] for c, s in zip(its.at.choices, its.states.tolist(), strict=True)])
    best: Selection | None = None
    for choices in (mixed(climb.planes, its), at_prices):
        mended = mend(program, Selection(choices, its.states), prices)
        if mended is not None and better(program, best, mended) is mended:
            best, wished = mended, choices
    climb.best = better(program, climb.best, best)
    left = climb.ends - time.monotonic()
    if best is not None and left > 0:
        gap = climb.gap * abs(root.value) / 2
        effort = Effort(left * solver().core_seconds_share, 0.0, gap, nodes, presolve=False)
        nearer = improved(program, climb.figures.core, best, wished, prices, effort)
        climb.clocked = climb.clocked or nearer.clocked
        climb.best = better(program, climb.best, nearer.selection)


def _decided(climb: Climb, root: Bound, states: States) -> Bound:
    """The bound with every place in its state of most weight: only there do the evaluations it rests on keep within the
    limits on the average.
    """
    now = time.monotonic()
    ends = now + max(0.0, climb.ends - now) * solver().core_seconds_share
    search = Search(climb.gap / 10, climb.figures.evaluations, ends)
    its = lower(climb.planes, states, root.at.prices, search, lambda _: False)
    climb.clocked = climb.clocked or time.monotonic() > ends
    return its
