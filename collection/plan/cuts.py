"""The lowest bound over all prices, by cutting planes within a trust region, from prices of a sample of the objects.

Each evaluation of the table gives, for each place and state, a plane below its value as a function of the prices;
planes belong to no branch, so that branching on states uses all of them again.
"""

import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from hashlib import blake2b

import highspy
import numpy as np
import numpy.typing as npt

from collection.plan.parameters import Planning
from collection.plan.priced import Priced, bound, price
from collection.plan.program import Program, Section
from collection.plan.solve import quiet_engine
from collection.plan.stopping import asked_to_stop

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Offsets = npt.NDArray[np.int16]  # of a choice within its block
States = tuple[tuple[int, ...], ...]
WIDER, NARROWER = 2.0, 1 / 2  # steps of the trust region
FIRST_STEP = 1 / 2  # of the largest price, or of a like share of the bound for each limit
KEY_BYTES = 8  # of the hash that draws the sample


@dataclass(frozen=True)
class Bound:
    """The lowest bound there is, where: its prices and what was best there; weight of each state, by place; the state
    of most weight, and the evaluations that the bound rests on there, each with its weight.
    """

    value: float
    at: Priced
    weights: tuple[Array, ...]
    states: Ints
    rest: tuple[tuple[tuple[float, int], ...], ...]


class Planes:
    """Planes below the value of each place and state, in a linear program over prices, one more column a place."""

    def __init__(self, program: Program) -> None:
        """No planes yet."""
        self.program = program
        self.size = program.limits.amount.size
        self._places = len(program.places)
        self._engine = quiet_engine()
        self._of: list[tuple[int, int, int]] = []  # place, state, evaluation
        self._choices: list[tuple[Offsets, ...]] = []
        self._lower: list[float] = []
        self._states: States = tuple(tuple(range(len(place.states))) for place in program.places)
        for amount in program.limits.amount:
            self._engine.addCol(float(amount), 0.0, highspy.kHighsInf, 0, np.zeros(0, np.int32), np.zeros(0))
        for _ in range(self._places + 1):
            self._engine.addCol(1.0, -highspy.kHighsInf, highspy.kHighsInf, 0, np.zeros(0, np.int32), np.zeros(0))

    def add(self, priced: Priced) -> None:
        """The planes of one evaluation."""
        firsts = [self.program.starts[:-1][self.program.place_of == q] for q in range(self._places)]
        self._choices.append(tuple((c - f).astype(np.int16) for c, f in zip(priced.choices, firsts, strict=True)))
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
        self._of.append((place, state, len(self._choices) - 1))
        self._lower.append(worth)

    def allow(self, states: States) -> None:
        """Only planes of these states count from now on."""
        self._states = states
        for row, (place, state, _) in enumerate(self._of):
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
        for (place, state, _), dual in zip(self._of, self._engine.getSolution().row_dual, strict=True):
            if place < self._places:
                weights[place][state] += abs(dual)
        return tuple(weights)

    def resting_on(self, states: Ints) -> tuple[tuple[tuple[float, int], ...], ...]:
        """By place, the evaluations that the lowest point rests on in a state, each with its weight; together 1."""
        duals = np.abs(self._engine.getSolution().row_dual)
        rest = []
        for place, state in enumerate(states.tolist()):
            mine = [(float(duals[n]), its[2]) for n, its in enumerate(self._of) if its[:2] == (place, state)]
            weighing = [(w, e) for w, e in mine if w > 0] or [(1.0, mine[-1][1])]
            total = sum(w for w, _ in weighing)
            rest.append(tuple((w / total, e) for w, e in weighing))
        return tuple(rest)

    def choices_of(self, place: int, state: int, evaluations: list[int]) -> Ints:
        """What the blocks of a place choose in a state: evaluations x blocks."""
        first = self.program.starts[:-1][self.program.place_of == place]
        offsets = np.stack([self._choices[e][place][state] for e in evaluations])
        return np.asarray(first + offsets.astype(np.int64))


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
    weights = planes.weights()
    heaviest = [max(its, key=lambda s: (w[s], -s)) for w, its in zip(weights, states, strict=True)]
    chosen = np.array(heaviest, dtype=np.int64)
    return Bound(value, best, weights, chosen, planes.resting_on(chosen))


def first_prices(program: Program, figures: Planning, ends: float) -> Array:
    """Prices at which a sample of the objects, with its share of the limits, has the lowest bound."""
    if len(program.blocks) <= 2 * figures.price_sample:
        return np.zeros(program.limits.amount.size)
    part = _part(program, figures.price_sample)
    states = tuple(tuple(range(len(place.states))) for place in part.places)
    start = np.zeros(program.limits.amount.size)
    search = Search(figures.gap, figures.evaluations, ends)
    return lower(Planes(part), states, start, search, lambda _: False).at.prices


def _part(program: Program, size: int) -> Program:
    """The table of some blocks; limits, places and set-up work in proportion."""
    hashes = [blake2b("\n".join(b).encode(), digest_size=KEY_BYTES).digest() for b in program.blocks]
    drawn = np.sort(np.array(sorted(range(len(hashes)), key=hashes.__getitem__)[:size]))
    share = size / len(program.blocks)
    chosen = np.zeros(len(program.blocks), dtype=np.bool_)
    chosen[drawn] = True
    use = np.repeat(chosen, np.diff(program.starts))
    starts = np.concatenate([[0], np.cumsum(np.diff(program.starts)[drawn])])
    before = np.concatenate([[0], np.cumsum(use)])
    its = program.limits
    where = [slice(int(before[w.start]), int(before[w.stop])) for w in program.place_choices]
    return replace(
        program,
        limits=replace(its, amount=its.amount * share, carried=its.carried * share),
        sections=tuple(_moved(s, chosen, before) for s in program.sections if chosen[s.blocks].any()),
        blocks=tuple(program.blocks[b] for b in drawn), place_of=program.place_of[drawn], starts=starts,
        options=program.options[use], years=program.years[use], use_row=program.use_row[use],
        use_amount=program.use_amount[use], setup=program.setup[use], segment=program.segment[use],
        worth=tuple(w[:, use[p]] for w, p in zip(program.worth, program.place_choices, strict=True)),
        place_choices=tuple(where), place_use=tuple(u * share for u in program.place_use),
        setup_use=program.setup_use * share,
    )  # fmt: skip


def _moved(section: Section, chosen: npt.NDArray[np.bool_], before: Ints) -> Section:
    """A section where its blocks and choices stand among those drawn."""
    first, last = int(chosen[: section.blocks.start].sum()), int(chosen[: section.blocks.stop].sum())
    choices = slice(int(before[section.choices.start]), int(before[section.choices.stop]))
    return replace(section, blocks=slice(first, last), choices=choices)
