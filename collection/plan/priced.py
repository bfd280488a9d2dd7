"""The table at given prices of the limits: objects fall apart; each place, set-up group and object takes what is best.

For prices >= 0 the sum over places of their best state, with money and hours at their prices added, is a bound on every
plan. Set-up work is decided exactly by place and state: a year whose work pays with every other year open is open in
the best set of years, one whose work does not pay alone is not (what a year adds falls with what is open); the few
years between are tried.
"""

from dataclasses import dataclass
from itertools import combinations

import numpy as np
import numpy.typing as npt

from collection.plan.limits import Limits
from collection.plan.program import Program, Section

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
WORST = -1e9  # of a choice that a block does not have; finite, so that differences are


@dataclass(frozen=True)
class Priced:
    """At some prices, by place and state: worth and use of what is best; by place, the choice of each block.

    fund_use : what the carried money gives, as negative use. choices : by place, states x blocks of the place.
    """

    prices: Array
    worth: tuple[Array, ...]
    use: tuple[Array, ...]
    choices: tuple[Ints, ...]
    fund_use: Array

    def values(self) -> tuple[Array, ...]:
        """Worth less use at the prices, by place and state."""
        return tuple(w - u @ self.prices for w, u in zip(self.worth, self.use, strict=True))


def price(program: Program, prices: Array) -> Priced:
    """What is best at some prices, in every state of every place."""
    cost = costs(program, prices)
    worth = [np.zeros(len(place.states)) for place in program.places]
    use = [place.copy() for place in program.place_use]
    choices = [np.zeros((len(p.states), 0), dtype=np.int64) for p in program.places]
    for section in program.sections:
        mine, opened = _section(program, section, cost, prices)
        for state, (chosen, years) in enumerate(zip(mine, opened, strict=True)):
            q = section.place
            worth[q][state] += program.worth[q][state, chosen - program.place_choices[q].start].sum()
            use[q][state] += _used(program, chosen) + _setup_cost(program, section)[list(years)].sum(axis=0)
        choices[section.place] = np.concatenate([choices[section.place], mine], axis=1)
    return Priced(prices, tuple(worth), tuple(use), tuple(choices), _funds(program.limits, prices))


def costs(program: Program, prices: Array) -> Array:
    """Price of what each choice uses; out of reach where it exceeds a limit by itself."""
    cost = (program.use_amount * prices[program.use_row]).sum(axis=1)
    return np.where(program.possible, cost, -WORST)


def bound(program: Program, priced: Priced, states: tuple[tuple[int, ...], ...]) -> float:
    """No plan whose places are in these states is worth more."""
    free = float((program.limits.amount - priced.fund_use) @ priced.prices)
    return free + sum(float(v[list(its)].max()) for v, its in zip(priced.values(), states, strict=True))


def _funds(limits: Limits, prices: Array) -> Array:
    """Carried money, each sum in the year whose price is highest, as negative use."""
    use = np.zeros(prices.size)
    if limits.carried.size:
        years = np.where(limits.within, prices[: limits.years], -1.0).argmax(axis=1)
        np.subtract.at(use, years, limits.carried)
    return use


def _used(program: Program, chosen: Ints) -> Array:
    rows = program.use_row[chosen].ravel()
    used = np.bincount(rows, program.use_amount[chosen].ravel(), minlength=program.limits.amount.size)
    return used.astype(np.float64)


def _setup_cost(program: Program, section: Section) -> Array:
    """Share of the section in the use of its group's set-up work, by year: years x limits."""
    years = program.situation.years
    if section.group < 0:
        return np.zeros((years, program.limits.amount.size))
    return section.share * program.setup_use[section.group * years : (section.group + 1) * years]


def _section(program: Program, section: Section, cost: Array, prices: Array) -> tuple[Ints, list[tuple[int, ...]]]:
    """Choice of each block in each state (states x blocks), and the years (from 0) whose set-up work is done."""
    where, place = section.choices, program.place_choices[section.place]
    net = program.worth[section.place][:, where.start - place.start : where.stop - place.start] - cost[where]
    starts = program.starts[section.blocks] - where.start
    if section.group < 0:
        return _first_best(net, starts) + where.start, [()] * len(net)
    first = _segment_starts(program, section)
    best = np.maximum.reduceat(net, first, axis=1)
    block = np.repeat(np.arange(starts.size), np.diff(program.starts)[section.blocks])[first]
    year = program.segment[where][first]
    values = np.full((len(net), starts.size, program.situation.years + 1), WORST)
    values[:, block, year] = best
    work = _setup_cost(program, section) @ prices
    opened = [_years_open(of_state, work) for of_state in values]
    shut = np.ones((len(net), program.situation.years + 1), dtype=np.bool_)
    shut[:, 0] = False
    for state, years in enumerate(opened):
        shut[state, [y + 1 for y in years]] = False
    return _first_best(np.where(shut[:, program.segment[where]], -np.inf, net), starts) + where.start, opened


def _segment_starts(program: Program, section: Section) -> Ints:
    """Where, among the choices of a section, the next block or year of set-up work begins."""
    segment = program.segment[section.choices]
    new = np.diff(segment, prepend=-1) != 0
    new[program.starts[section.blocks] - section.choices.start] = True
    return np.flatnonzero(new)


def _first_best(net: Array, starts: Ints) -> Ints:
    """Position of the first best choice of each block: states x blocks."""
    best = np.maximum.reduceat(net, starts, axis=1)
    counts = np.diff(np.append(starts, net.shape[1]))
    at = np.where(net == np.repeat(best, counts, axis=1), np.arange(net.shape[1]), net.shape[1])
    return np.asarray(np.minimum.reduceat(at, starts, axis=1))


def _years_open(values: Array, work: Array) -> tuple[int, ...]:
    """The best set of years for the set-up work. values : blocks x (no work, year 1, ...). work : its price by year."""
    top = np.sort(values, axis=1)[:, -2:]
    lead = np.bincount(values.argmax(axis=1), top[:, 1] - top[:, 0], minlength=work.size + 1)[1:]
    sure = tuple(int(y) for y in np.flatnonzero(lead >= work))
    base = values[:, [0, *(y + 1 for y in sure)]].max(axis=1)
    unsure = [y for y in range(work.size) if y not in sure]
    adds = {y: float(np.maximum(values[:, y + 1] - base, 0).sum()) for y in unsure}
    maybe = [y for y in unsure if adds[y] > work[y]]
    tries = [(), *(c for n in range(1, len(maybe) + 1) for c in combinations(maybe, n))]
    gains = [_gain(values, base, work, years) for years in tries]
    return tuple(sorted((*sure, *tries[int(np.argmax(gains))])))


def _gain(values: Array, base: Array, work: Array, years: tuple[int, ...]) -> float:
    """What some more years add to what is open, less their work."""
    if not years:
        return 0.0
    best = values[:, [y + 1 for y in years]].max(axis=1)
    return float(np.maximum(best - base, 0).sum() - work[list(years)].sum())
