"""The plan: which objects in which years, what it prevents, how far it is from the best there can be, what fell out."""

import time
from dataclasses import dataclass, field

import polars as pl

from collection.plan.assembly import assemble
from collection.plan.choose import choose, settle
from collection.plan.described import (
    Basis,
    expected_over,
    lines,
    place_lines,
    prevented_over,
    reasons,
    setup_lines,
)
from collection.plan.eligible import NO_HOURS
from collection.plan.faults import require_plannable
from collection.plan.limits import limit_rows
from collection.plan.musts import MustsNotMet, meet_musts, why_not
from collection.plan.parameters import Planning, planning, solver
from collection.plan.program import Program, Selection, is_feasible, total_worth, used
from collection.plan.rules_of_thumb import rule_rows, rules_of_thumb
from collection.plan.situation import Situation


@dataclass(frozen=True, eq=False)
class Plan:
    """prevented, bound, expected and those at twice the horizon in `unit` (the collection's value is 1, or money).

    gap : (bound - prevented)/bound. proved : best within the figures' gap. stopped [s] : after so long by the clock, so
    that another run may differ; null: it came to its end. lines : LINE; places : PLACE_LINE; setups : SETUP_LINE;
    limits : LIMIT; left_out, no_hours : LEFT_OUT; rules : RULE.
    """

    first_year: int
    years: int
    horizon: float
    in_money: bool
    prevented: float
    prevented_twice: float
    expected: float
    expected_twice: float
    bound: float
    gap: float
    proved: bool
    stopped: float | None
    lines: pl.DataFrame
    places: pl.DataFrame
    setups: pl.DataFrame
    limits: pl.DataFrame
    left_out: pl.DataFrame
    no_hours: pl.DataFrame
    rules: pl.DataFrame
    basis: Basis = field(repr=False)


def make_plan(
    situation: Situation, *, figures: Planning | None = None, seconds: float | None = None
) -> Plan | MustsNotMet:
    """The best plan of a situation, or why no plan meets the musts.

    figures : else those of plan.toml. seconds : limit of time, else that of the figures.

    Raises WrongUsage where nothing can be planned: no money set for a year, two currencies, needs in a circle.
    """
    require_plannable(situation)
    figures = figures or planning()
    return plan_of(assemble(situation, figures), figures, seconds or figures.seconds)


def plan_of(program: Program, figures: Planning, seconds: float, start: Selection | None = None) -> Plan | MustsNotMet:
    """The best plan of a table; `start` is a selection of it that the plan is to be no worse than, where it fits."""
    if program.unmeetable or program.beyond:
        return why_not(program.situation, figures, program.limits)
    began = time.monotonic()
    rules = rules_of_thumb(program)
    starts = [s for s in (*(s for _, s in rules), start) if s and is_feasible(program, s, solver().feasibility)]
    if not starts:
        musts = meet_musts(program, figures)
        if isinstance(musts, MustsNotMet):
            return musts
        starts = [musts]
    left = seconds * solver().seconds_share - (time.monotonic() - began)
    answer = choose(program, figures, max(0.0, left), starts)
    chosen = settle(program, answer.selection or starts[0])
    worth, bound = (x / program.scale for x in (total_worth(program, chosen), answer.bound))
    stopped = None if answer.in_time else round(time.monotonic() - began)
    basis = Basis(program, chosen, answer.prices)
    return _described(basis, worth, max(bound, worth), figures.gap, stopped, rule_rows(program, rules))


def _described(
    basis: Basis, worth: float, bound: float, target: float, stopped: float | None, rules: pl.DataFrame
) -> Plan:
    """The plan with everything that is said of it."""
    its, program = basis.program.situation, basis.program
    gap = (bound - worth) / bound if bound > 0 else 0.0
    left = reasons(basis)
    hours = pl.col("why") == NO_HOURS
    twice = 2 * its.horizon
    prices = basis.prices / program.scale
    return Plan(
        its.first_year, its.years, its.horizon, its.in_money,
        prevented=worth, prevented_twice=prevented_over(basis, twice),
        expected=float(program.loss_now.sum()), expected_twice=expected_over(program, twice),
        bound=bound, gap=gap, proved=gap <= target * (1 + target), stopped=stopped,
        lines=lines(basis), places=place_lines(basis), setups=setup_lines(basis),
        limits=limit_rows(program.limits, its.first_year, used(program, basis.selection), prices),
        left_out=left.filter(~hours), no_hours=left.filter(hours), rules=rules, basis=basis,
    )  # fmt: skip
