"""From what is best at prices to a plan that fits: drop what is worth least for its cost, then add what still fits."""

import numpy as np
import numpy.typing as npt

from collection.plan.limits import Limits, spread
from collection.plan.parameters import solver
from collection.plan.priced import costs
from collection.plan.program import Program, Selection, is_feasible, setups_of, total_worth, used_by

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]


class Room:
    """What is left of each limit while choices come and go; set-up work is paid with the first choice that needs it.

    A choice of -1 stands for a block that nothing was chosen for yet. Plain lists: they are looked up one by one.
    """

    def __init__(self, program: Program, selection: Selection) -> None:
        """Room that a selection leaves."""
        self.program = program
        self.choices = selection.choices.copy()
        self.states = selection.states.copy()
        self._tolerance = solver().feasibility
        in_use = self.choices[self.choices >= 0]
        used = used_by(program, in_use) + program.setup_use[setups_of(program, in_use)].sum(axis=0)
        for place, state in zip(program.place_use, self.states, strict=True):
            used = used + place[state]
        self.left: list[float] = (_amounts(program.limits, used) - used).tolist()
        self._free = np.asarray(~program.use_amount.any(axis=1))
        self._needing: dict[int, int] = {}
        for number in program.setup[in_use].ravel().tolist():
            self._needing[number] = self._needing.get(number, 0) + 1

    def over(self) -> bool:
        """Whether any limit is exceeded."""
        return min(self.left) < -self._tolerance

    def change(self, block: int, choice: int) -> None:
        """Let a block take another choice."""
        self._count(int(self.choices[block]), -1)
        self._count(choice, 1)
        self.choices[block] = choice

    def _count(self, choice: int, times: int) -> None:
        if choice < 0:
            return
        program = self.program
        for row, amount in zip(program.use_row[choice].tolist(), program.use_amount[choice].tolist(), strict=True):
            self.left[row] -= times * amount
        for number in program.setup[choice].tolist():
            if number >= 0:
                before = self._needing.get(number, 0)
                self._needing[number] = before + times
                if not before or not before + times:
                    self._use(program.setup_use[number], times)

    def _use(self, amounts: Array, times: int) -> None:
        self.left = [left - times * amount for left, amount in zip(self.left, amounts.tolist(), strict=True)]

    def fits(self, block: int, choice: int) -> bool:
        """Let a block take another choice if it fits; it stays as it is if not."""
        before = int(self.choices[block])
        if before < 0 or self._free[before]:
            rows, amounts = self.program.use_row[choice].tolist(), self.program.use_amount[choice].tolist()
            if any(a > self.left[row] + self._tolerance for row, a in zip(rows, amounts, strict=True)):
                return False
        self.change(block, choice)
        if not self.over():
            return True
        self.change(block, before)
        return False

    def place_fits(self, place: int, state: int) -> bool:
        """Let a place take another state if it fits."""
        use, before = self.program.place_use[place], int(self.states[place])
        self._use(use[state] - use[before], 1)
        if not self.over():
            self.states[place] = state
            return True
        self._use(use[state] - use[before], -1)
        return False

    @property
    def selection(self) -> Selection:
        """What is chosen now."""
        return Selection(self.choices.copy(), self.states.copy())


def _amounts(limits: Limits, used: Array) -> Array:
    """Amounts of the limits, carried money given where it is used, then where it ends."""
    amounts = limits.amount.copy()
    if limits.carried.size:
        lacking = np.maximum(used - amounts, 0)[: limits.years]
        amounts[: limits.years] += spread(limits, lacking)
    return amounts


def least(program: Program, states: Ints) -> Ints:
    """For each block nothing, or where a must asks for it what uses least, in these states of the places."""
    summed = program.use_amount.sum(axis=1)
    first = program.starts[:-1]
    choices = first.copy()
    for block in np.flatnonzero(program.asked):
        mine = slice(program.starts[block], program.starts[block + 1])
        choices[block] = mine.start + int(summed[mine].argmin())
    return choices


def mend(program: Program, selection: Selection, prices: Array) -> Selection | None:
    """A selection that fits, from one that may not; null where dropping all that may be dropped is not enough."""
    room = Room(program, selection)
    lowest = least(program, selection.states)
    _move(program, room, prices)
    if room.over():
        _drop(program, room, lowest, prices)
    if room.over():
        return None
    fill(program, room, prices)
    mended = room.selection
    return mended if is_feasible(program, mended, solver().feasibility) else None


def _move(program: Program, room: Room, prices: Array) -> None:
    """Let blocks take a choice that uses no exceeded limit, those first that lose least at prices for what they ease.

    What moves into another year may exceed a limit there; so it is gone through again, a few times at most.
    """
    every = np.arange(program.options.shape[0])
    net = program.worth_of(every, room.states) - costs(program, prices)
    for _ in range(PASSES):
        over = np.array(room.left) < -solver().feasibility
        if not over.any():
            return
        eased = (program.use_amount * (over * np.maximum(prices, solver().feasibility))[program.use_row]).sum(axis=1)
        other = _best_of(program, np.where(eased > 0, -np.inf, net))
        mine = np.flatnonzero((eased[room.choices] > 0) & (eased[other] == 0))
        loss = (net[room.choices[mine]] - net[other[mine]]) / eased[room.choices[mine]]
        for block in mine[np.argsort(loss, kind="stable")].tolist():
            if not room.over():
                return
            if _eases(program, room, int(room.choices[block])):
                room.change(block, int(other[block]))


PASSES = 6  # of moving, before what is still too much is dropped


def _best_of(program: Program, values: Array) -> Ints:
    """The first choice of highest value of each block."""
    first = program.starts[:-1]
    best = np.repeat(np.maximum.reduceat(values, first), np.diff(program.starts))
    at = np.where(values == best, np.arange(values.size), values.size)
    return np.asarray(np.minimum.reduceat(at, first))


def _drop(program: Program, room: Room, lowest: Ints, prices: Array) -> None:
    """Take choices back, least worth for their priced cost first, until all limits hold."""
    gain = program.worth_of(room.choices, room.states) - program.worth_of(lowest, room.states)
    cost = priced_cost(program, room.choices, prices)
    for block in np.lexsort((np.arange(gain.size), gain / cost)).tolist():
        if not room.over():
            return
        choice = int(room.choices[block])
        if choice != lowest[block] and _eases(program, room, choice):
            room.change(block, int(lowest[block]))


def _eases(program: Program, room: Room, choice: int) -> bool:
    """Whether a choice uses a limit that is exceeded."""
    uses = program.use_row[choice][program.use_amount[choice] > 0]
    return any(room.left[row] < 0 for row in uses.tolist())


def priced_cost(program: Program, choices: Ints, prices: Array) -> Array:
    """Price of what choices use; never 0."""
    cost: Array = (program.use_amount[choices] * prices[program.use_row[choices]]).sum(axis=1)
    return np.maximum(cost, solver().feasibility)


def fill(program: Program, room: Room, prices: Array) -> None:
    """Add what still fits, most worth for its priced cost first; a block may change to a choice that is worth more."""
    every = np.arange(program.options.shape[0])
    block = program.block_of
    gain = program.worth_of(every, room.states) - program.worth_of(room.choices, room.states)[block]
    small = (program.use_amount <= np.array(room.left)[program.use_row] + solver().feasibility).all(axis=1)
    candidates = np.flatnonzero((gain > 0) & small)
    cost = priced_cost(program, candidates, prices)
    order = candidates[np.lexsort((candidates, -gain[candidates] / cost))]
    worth = program.worth_of(room.choices, room.states)
    value = program.worth_of(order, room.states)
    for choice, its in zip(order.tolist(), value.tolist(), strict=True):
        at = int(block[choice])
        if its > worth[at] and room.fits(at, choice):
            worth[at] = its


def better(program: Program, one: Selection | None, other: Selection | None) -> Selection | None:
    """The selection that prevents more; the first where both prevent the same."""
    if one is None or other is None:
        return one or other
    return other if total_worth(program, other) > total_worth(program, one) else one
