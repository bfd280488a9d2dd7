"""What musts take in all, and what of that there is not: the least of all limits at once, where more of one alone may
not be enough.
"""

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import polars as pl

from collection.frames import returns
from collection.plan.limits import Limits
from collection.plan.model import Freedom, build
from collection.plan.parameters import Planning, solver
from collection.plan.program import Program, Selection, is_feasible, used
from collection.plan.solve import Effort, Solved, solve

Array = npt.NDArray[np.float64]
# One limit: skill, null for money; what the musts take of it, what there is, and the least that is lacking.
NEED = pl.Schema({"skill": pl.String, "year": pl.Int32} | dict.fromkeys(("needed", "available", "lacking"), pl.Float64))
DECIMALS = 9  # of an amount, beyond which the solver's tolerance shows


def alone(program: Program, figures: Planning, elastic: Array | None) -> Solved:
    """The blocks that musts ask for, the others left alone, no place bettered; limits hold, or may be exceeded at a
    price (`elastic`).
    """
    asked = np.flatnonzero(program.asked)
    states = tuple((0,) for _ in program.places)
    freedom = Freedom(asked, states, program.starts[:-1].copy(), elastic)
    return solve(build(program, freedom), Effort(figures.seconds, solver().feasibility))


@dataclass(frozen=True)
class Meeting:
    """How musts are met: what is chosen, and `needs`, schema NEED."""

    selection: Selection
    needs: pl.DataFrame


def least_meeting(program: Program, figures: Planning) -> Meeting:
    """How the musts of a table are met with least; each of them has some choice.

    Of all ways the one that lacks least, each limit weighed by what there is of it in all years (hours by their price,
    where the museum set one); of those that lack nothing the one that takes least.
    """
    limits = program.limits
    prices = _prices(program)
    short = alone(program, figures, prices)
    nothing = replace(program, limits=limits.times(np.zeros(prices.size)))
    least = alone(nothing, figures, prices).selection
    first = Selection(program.starts[:-1].copy(), np.zeros(len(program.places), dtype=np.int64))
    enough = least is not None and is_feasible(program, least, solver().feasibility)
    chosen = (least if enough else short.selection) or first
    return Meeting(chosen, _needs(program, chosen, short.column[short.column.size - prices.size :]))


@returns(NEED)
def _needs(program: Program, chosen: Selection, lacking: Array) -> pl.DataFrame:
    """What a selection takes of each limit, and what is lacking, in the units of the limits."""
    limits, kinds = program.limits, (None, *program.limits.skills)
    figures = (x * limits.unit for x in (used(program, chosen), limits.most, lacking))
    columns = [np.round(x, DECIMALS) for x in figures]
    rows = [
        (
            kinds[row // limits.years],
            program.situation.first_year + row % limits.years,
            *(float(x[row]) for x in columns),
        )
        for row in range(limits.unit.size)
    ]
    return pl.DataFrame(rows, schema=NEED, orient="row")


def _prices(program: Program) -> Array:
    """Price of exceeding each limit, in its own units: money where hours have a price, else a share of its kind."""
    limits, hour_price = program.limits, program.situation.hour_price
    money = np.arange(limits.amount.size) < limits.years
    if hour_price:
        return np.asarray(limits.unit * np.where(money, 1.0, hour_price))
    return np.asarray(limits.unit / np.repeat(_of_kind(limits), limits.years))


def _of_kind(limits: Limits) -> Array:
    """What there is of money and of each skill in all years; 1 where there is none."""
    there = (limits.most * limits.unit).reshape(-1, limits.years).sum(axis=1)
    return np.where(there > 0, there, 1.0)
