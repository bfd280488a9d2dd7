"""The lowest bound over all prices, by cutting planes within a trust region.

Each evaluation of the table gives, for each place and state, a plane below its value as a function of the prices;
planes belong to no branch, so that branching on states uses all of them again.
"""

import time
from collections.abc import Callable
from dataclasses import dataclass

import highspy
import numpy as np
import numpy.typing as npt

from collection.plan.priced import Priced, bound, price
from collection.plan.program import Program
from collection.plan.solve import quiet_engine
from collection.plan.stopping import asked_to_stop

Array = npt.NDArray[np.float64]
States = tuple[tuple[int, ...], ...]
WIDER, NARROWER = 2.0, 1 / 2  # steps of the trust region
FIRST_STEP = 1 / 2  # of the largest price, or of a like share of the bound for each limit


@dataclass(frozen=True)
class Bound:
    """The lowest bound there is, where: its prices and what was best there; weight of each state, by place."""

    value: float
    at: Priced
    weights: tuple[Array, ...]


class Planes:
    """Planes below the value of each place and state, in a linear program over prices, one more column a place."""

    def __init__(self, program: Program) -> None:
        """No planes yet."""
        self.program = program
        self.size = program.limits.amount.size
        self._places = len(program.places)
        self._engine = quiet_engine()
        self._of: list[tuple[int, int]] = []
        self._lower: list[float] = []
        self._states: States = tuple(tuple(range(len(place.states))) for place in program.places)
        for amount in program.limits.amount:
            self._engine.addCol(float(amount), 0.0, highspy.kHighsInf, 0, np.zeros(0, np.int32), np.zeros(0))
        for _ in range(self._places + 1):
            self._engine.addCol(1.0, -highspy.kHighsInf, highspy.kHighsInf, 0, np.zeros(0, np.int32), np.zeros(0))

    def add(self, priced: Priced) -> None:
        """The planes of one evaluation."""
        for place, (worth, use) in enumerate(zip(priced.worth, priced.use, strict=True)):
            for state in range(worth.size):
                self._row(place, state, float(worth[state]), use[state])
        self._row(self._places, 0, 0.0, priced.fund_use)

    def _row(self, place: int, state: int, worth: float, use: Array) -> None:
        at = np.flatnonzero(use)
        index = np.append(at, self.size + place).astype(np.int32)
        counts = place == self._places or state in self._states[place]
        self._engine.addRow(
            worth if counts else -highspy.kHighsInf, highspy.kHighsInf, index.size, index, np.append(use[at], 1.0)
        )
        self._of.append((place, state))
        self._lower.append(worth)

    def allow(self, states: States) -> None:
        """Only planes of these states count from now on."""
        self._states = states
        for row, (place, state) in enumerate(self._of):
            counts = place == self._places or state in states[place]
            self._engine.changeRowBounds(row, self._lower[row] if counts else -highspy.kHighsInf, highspy.kHighsInf)

    def lowest(self, around: Array, step: float) -> tuple[Array, float]:
        """Prices within a step of `around` where the planes are lowest, and the height there."""
        for row, middle in enumerate(around):
            self._engine.changeColBounds(row, max(0.0, middle - step), middle + step)
        self._engine.run()
        column = np.array(self._engine.getSolution().col_value)
        return np.maximum(column[: self.size], 0.0), float(self._engine.getInfo().objective_function_value)

    def weights(self) -> tuple[Array, ...]:
        """Weight of each state in the lowest point, by place."""
        weights = [np.zeros(len(place.states)) for place in self.program.places]
        for (place, state), dual in zip(self._of, self._engine.getSolution().row_dual, strict=True):
            if place < self._places:
                weights[place][state] += abs(dual)
        return tuple(weights)


@dataclass(frozen=True)
class Search:
    """When to stop: gap of the bound as a share of it, evaluations, and a clock (`time.monotonic`) that ends it."""

    gap: float
    evaluations: int
    ends: float


def lower(planes: Planes, states: States, start: Array, search: Search, enough: Callable[[float], bool]) -> Bound:
    """The lowest bound for places in these states. `enough` : whether a bound ends the search."""
    program = planes.program
    best = price(program, start)
    value = bound(program, best, states)
    planes.allow(states)
    planes.add(best)
    step = FIRST_STEP * (float(start.max()) if start.any() else abs(value) / start.size)
    for _ in range(search.evaluations):
        prices, height = planes.lowest(best.prices, step)
        inside = bool((np.abs(prices - best.prices) < step * (1 - search.gap)).all())
        if value - height <= search.gap * max(abs(value), search.gap) and inside:
            break
        if enough(value) or asked_to_stop() or time.monotonic() > search.ends:
            break
        tried = price(program, prices)
        here = bound(program, tried, states)
        planes.add(tried)
        better = value - here >= (value - height) / 10
        step *= WIDER if better or value - height <= search.gap * abs(value) else NARROWER
        if here < value:
            best, value = tried, here
    return Bound(value, best, planes.weights())
