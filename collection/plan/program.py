"""The whole table of what may be chosen, as arrays: choices by block, what each is worth in each state of its place,
what it uses of the limits, and the set-up work it needs.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from collection.plan.exposure import Jobs
from collection.plan.hazard_table import HazardTable
from collection.plan.limits import Limits, fits
from collection.plan.parameters import solver
from collection.plan.places import Place
from collection.plan.situation import Situation

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Flags = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Section:
    """Blocks of one place and of one set-up group (-1: none), next to each other.

    share : part of the cost of its set-up group that it bears in the bound, since groups of several places are split.
    """

    place: int
    group: int
    blocks: slice
    choices: slice
    share: float


@dataclass(frozen=True)
class Program:
    """Blocks are objects, or objects tied to each other; each takes exactly one of its choices, mostly first nothing.

    starts : where each block's choices begin (one more than blocks). options, years : of each choice, -1 where it has
    fewer jobs. use_row, use_amount : rows of the limits a choice uses, scaled as the limits are. setup : number of
    (group, year) each job needs, -1 none. segment : year of the set-up of its section's group, 0 none; choices of a
    block stand in its order. worth : by place, states x choices of the place, in units of 1/scale.
    place_use : by place, states x limits. setup_use : (group, year) x limits. unmeetable : musts without any choice.
    """

    situation: Situation
    table: HazardTable
    limits: Limits
    places: tuple[Place, ...]
    sections: tuple[Section, ...]
    blocks: tuple[tuple[str, ...], ...]
    place_of: Ints
    starts: Ints
    options: Ints
    years: Ints
    use_row: Ints
    use_amount: Array
    setup: Ints
    segment: Ints
    worth: tuple[Array, ...]
    place_choices: tuple[slice, ...]
    place_use: tuple[Array, ...]
    setup_use: Array
    scale: float
    loss_now: Array
    gain_alone: Mapping[int, float]
    left_out: Mapping[str, str]
    unmeetable: tuple[str, ...]

    @cached_property
    def block_of(self) -> Ints:
        """Block of each choice."""
        return np.repeat(np.arange(len(self.blocks)), np.diff(self.starts))

    @cached_property
    def possible(self) -> Flags:
        """Whether each choice keeps within every limit by itself."""
        most = self.limits.most + solver().feasibility
        return np.asarray((self.use_amount <= most[self.use_row]).all(axis=1))

    @property
    def beyond(self) -> bool:
        """Whether a must asks for more than a limit by itself."""
        return not np.logical_or.reduceat(self.possible, self.starts[:-1]).all() if len(self.blocks) else False

    @property
    def asked(self) -> Flags:
        """Blocks that a must asks for: nothing is none of their choices."""
        return np.asarray(self.options[self.starts[:-1], 0] >= 0)

    def places_of(self, choices: Ints) -> Ints:
        """Place of each choice."""
        return self.place_of[np.searchsorted(self.starts, choices, side="right") - 1]

    def worth_of(self, choices: Ints, states: Ints) -> Array:
        """Worth of some choices, each in the state that its place is in (states: by place)."""
        return self.worth_at(choices, states[self.places_of(choices)])

    def worth_at(self, choices: Ints, state: Ints) -> Array:
        """Worth of some choices, each in a state of its place."""
        worth = np.zeros(choices.size)
        of = self.places_of(choices)
        for place, (table, where) in enumerate(zip(self.worth, self.place_choices, strict=True)):
            mine = of == place
            worth[mine] = table[state[mine], choices[mine] - where.start]
        return worth


@dataclass(frozen=True)
class Selection:
    """One choice a block and one state a place."""

    choices: Ints
    states: Ints


def setups_of(program: Program, choices: Ints) -> Ints:
    """Numbers of (group, year) that choices need."""
    needed = np.unique(program.setup[choices])
    return np.asarray(needed[needed >= 0])


def used_by(program: Program, choices: Ints) -> Array:
    """What choices use of each limit, without set-ups."""
    rows = program.use_row[choices].ravel()
    used = np.bincount(rows, program.use_amount[choices].ravel(), minlength=program.limits.amount.size)
    return np.asarray(used, dtype=np.float64)


def used(program: Program, selection: Selection) -> Array:
    """What a selection uses of each limit: choices, places, and set-up work once a group and year."""
    total = used_by(program, selection.choices)
    for place, state in zip(program.place_use, selection.states, strict=True):
        total = total + place[state]
    return np.asarray(total + program.setup_use[setups_of(program, selection.choices)].sum(axis=0))


def total_worth(program: Program, selection: Selection) -> float:
    """What a selection prevents, in units of 1/scale."""
    return float(program.worth_of(selection.choices, selection.states).sum())


def is_feasible(program: Program, selection: Selection, tolerance: float) -> bool:
    """Whether a selection keeps within all limits."""
    return fits(program.limits, used(program, selection), tolerance)


def jobs_of(program: Program, choices: Ints, options: Ints, years: Ints) -> tuple[Jobs, Ints]:
    """Jobs of choices by object: a row for each object of the block of each, and which of the choices it is of.

    options, years : of each choice.
    """
    numbers = {o: n for n, o in enumerate(program.situation.objects["object_id"])}
    block = np.searchsorted(program.starts, choices, side="right") - 1
    members = [[numbers[o] for o in program.blocks[b]] for b in block]
    of = np.repeat(np.arange(choices.size), [len(m) for m in members])
    objects = np.array([n for m in members for n in m], dtype=np.int64)
    return only_own(program.situation, Jobs(objects, options[of], years[of])), of


def only_own(situation: Situation, jobs: Jobs) -> Jobs:
    """Jobs without those on other objects of the block."""
    numbers = {o: n for n, o in enumerate(situation.objects["object_id"])}
    owner = np.array([numbers.get(o, -1) for o in situation.options["object_id"]] + [-1], dtype=np.int64)
    mine = owner[jobs.options] == jobs.objects[:, None]
    return Jobs(jobs.objects, np.where(mine, jobs.options, -1), np.where(mine, jobs.years, 0))
