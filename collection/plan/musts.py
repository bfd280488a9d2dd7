"""Meeting the musts: with how little, and when no plan does, what is lacking and a smallest set of musts that clash.

What is lacking is the least of all limits at once, since more of one alone may not be enough.
"""

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import polars as pl

from collection.frames import returns
from collection.plan.assembly import assemble
from collection.plan.limits import Limits
from collection.plan.model import Freedom, build
from collection.plan.parameters import Planning, solver
from collection.plan.program import Program, Selection, is_feasible, used
from collection.plan.situation import Situation
from collection.plan.solve import Effort, Solved, solve

Array = npt.NDArray[np.float64]
# One limit: skill, null for money; what the musts take of it, what there is, and the least that is lacking.
NEED = pl.Schema({"skill": pl.String, "year": pl.Int32} | dict.fromkeys(("needed", "available", "lacking"), pl.Float64))
DECIMALS = 9  # of an amount, beyond which the solver's tolerance shows
# The least more of one limit that would do, the others as they are; skill null: money.
EXTRA = pl.Schema({"skill": pl.String, "year": pl.Int32, "extra": pl.Float64})


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


@dataclass(frozen=True)
class MustsNotMet:
    """Why there is no plan.

    impossible : musts that no option meets by their day, whatever money and hours there are. extras : schema EXTRA;
    empty where more of one limit alone does not do. together : schema EXTRA, more of several limits at once, the least
    that would do (`least_meeting`). least_cost [money] : of more money and hours at their price together, null where
    hours have no price. currency : of the money. conflict : a smallest set of musts that clash, not the only one;
    conflict_extras : schema EXTRA, what these lack by themselves.
    """

    impossible: tuple[str, ...]
    extras: pl.DataFrame
    together: pl.DataFrame
    least_cost: float | None
    conflict: tuple[str, ...]
    conflict_extras: pl.DataFrame
    currency: str | None = None


def meet_musts(program: Program, figures: Planning) -> Selection | MustsNotMet:
    """A selection that meets the musts and does nothing else, or why there is none."""
    solved = alone(program, figures, None)
    if solved.selection is not None:
        return solved.selection
    return why_not(program.situation, figures, program.limits)


def why_not(situation: Situation, figures: Planning, limited: Limits) -> MustsNotMet:
    """How much more of each limit would do, and a smallest set of musts that clash."""
    asked = concerned(situation, figures)
    loose = assemble(asked, figures, limited)
    if loose.unmeetable:
        none = pl.DataFrame(schema=EXTRA)
        return MustsNotMet(loose.unmeetable, none, none, None, loose.unmeetable, none, situation.currency)
    conflict = _conflict(asked, figures, limited)
    lacking = [extras(its, figures, limited) for its in (asked, _only(asked, conflict))]
    short = least_meeting(loose, figures).needs.filter(pl.col("lacking") > 0)
    together = short.select("skill", "year", extra="lacking")
    least_cost = _least_cost(loose, figures)
    return MustsNotMet((), lacking[0], together, least_cost, conflict, lacking[1], situation.currency)


def concerned(situation: Situation, figures: Planning) -> Situation:
    """The situation with only the objects that musts ask for, and those tied to them."""
    program = assemble(replace(situation, hazards=situation.hazards.clear()), figures)
    owner = dict(situation.options.select("option_id", "object_id").iter_rows())
    named = {number or owner[option] for _, number, option, _, _ in situation.musts.iter_rows()}
    objects = {o for block in program.blocks if named & set(block) for o in block} | named
    mine = pl.col("object_id").is_in(sorted(objects))
    return replace(
        situation, objects=situation.objects.filter(mine), hazards=situation.hazards.filter(mine),
        options=situation.options.filter(mine), place_options=situation.place_options.clear(),
    )  # fmt: skip


@returns(EXTRA)
def extras(situation: Situation, figures: Planning, limited: Limits) -> pl.DataFrame:
    """For each limit the least more of it that would do by itself, schema EXTRA."""
    program = assemble(situation, figures, limited)
    rows, kinds = [], (None, *program.limits.skills)
    for row in range(program.limits.amount.size):
        price = np.full(program.limits.amount.size, np.inf)
        price[row] = 1.0
        solved = alone(program, figures, price)
        if solved.feasible and solved.selection is not None:
            extra = float(solved.column[solved.column.size - price.size + row] * program.limits.unit[row])
            skill, year = kinds[row // situation.years], situation.first_year + row % situation.years
            rows.append((skill, year, round(extra, DECIMALS)))
    return pl.DataFrame([r for r in rows if r[-1] > 0], schema=EXTRA, orient="row")


def _least_cost(program: Program, figures: Planning) -> float | None:
    """Least money, with hours at their price, that would do in all."""
    price, years = program.situation.hour_price, program.situation.years
    if not price:
        return None
    prices = program.limits.unit * np.where(np.arange(program.limits.unit.size) < years, 1.0, price)
    return float(-alone(program, figures, prices).bound)


def _conflict(situation: Situation, figures: Planning, limited: Limits) -> tuple[str, ...]:
    """Musts that clash, none of which can go: latest day first, each is dropped without which the rest still clash."""
    order = situation.musts.sort("done_by", "must_id", descending=True)["must_id"].to_list()
    staying = list(order)
    for must in order:
        others = tuple(m for m in staying if m != must)
        if others and _clash(_only(situation, others), figures, limited):
            staying = list(others)
    return tuple(sorted(staying))


def _clash(situation: Situation, figures: Planning, limited: Limits) -> bool:
    program = assemble(situation, figures, limited)
    return program.beyond or bool(program.unmeetable) or alone(program, figures, None).selection is None


def _only(situation: Situation, musts: tuple[str, ...]) -> Situation:
    return replace(situation, musts=situation.musts.filter(pl.col("must_id").is_in(list(musts))))
