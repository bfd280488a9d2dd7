"""What it takes to have everything done by a day that needs attention now, and what of that there is not.

A plan has whole years; the time to that day is planned as one period, with the money of its calendar year and the share
of the year's hours that falls into it. What is left of an earlier year is not counted: nobody records what is spent.
"""

from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np
import polars as pl

from collection.frames import returns
from collection.plan.assembly import assemble
from collection.plan.described import Basis, lines
from collection.plan.musts import least_meeting
from collection.plan.parameters import planning
from collection.plan.situation import MUST, OPTION, OPTION_HOURS, Situation
from collection.planning.options import BENCH
from collection.planning.situation import Question, situation_of
from collection.questions.triage import Triage
from collection.risk.parameters import DAYS_A_YEAR

# One thing to do: the option, and how many of the objects it is done for; hours of all skills.
JOB = pl.Schema(
    {"option_id": pl.String, "object_id": pl.String, "objects": pl.UInt32, "hours": pl.Float64, "money": pl.Float64}
)
c = pl.col


@dataclass(frozen=True)
class Clearing:
    """begins, until: the period. year_share: of the year's hours that falls into it. jobs: schema JOB; an option for a
    place has no object. needs: schema NEED. no_proposal: objects for which nobody has written down what to do;
    not_possible: those where no hours are estimated, or that are out of reach.
    """

    begins: date
    until: date
    year_share: float
    objects: int
    jobs: pl.DataFrame
    needs: pl.DataFrame
    no_proposal: tuple[str, ...]
    not_possible: tuple[str, ...]
    currency: str | None


def clearing(triage: Triage, question: Question, until: date) -> Clearing:
    """How the objects of the classes that cannot wait can all be done by a day: each by an option of its own, or where
    it has none by one for its place. Amounts named with the question hold for this period's year too.
    """
    figures = planning()
    begins = max(triage.as_of, date(until.year, 1, 1))
    year_share = ((until - begins).days + 1) / DAYS_A_YEAR
    urgent = triage.objects.filter(c("attention").is_in(triage.now))["object_id"]
    plain = _alone(situation_of(triage, _for_year(question, until.year), figures), urgent, year_share)
    with_places, by_place = _places_as_options(plain, urgent)
    reached = set(with_places.options.filter("open", ~c("done"))["object_id"]) | set(by_place["object_id"])
    program = assemble(with_places, figures)
    not_possible = program.unmeetable
    feasible = replace(with_places, musts=with_places.musts.filter(~c("must_id").is_in(list(not_possible))))
    program = assemble(feasible, figures)
    met = least_meeting(program, figures)
    basis = Basis(program, met.selection, np.zeros(program.limits.unit.size))
    return Clearing(
        begins, until, year_share, urgent.len(),
        jobs=_jobs(lines(basis), by_place), needs=met.needs,
        no_proposal=tuple(o for o in urgent if o not in reached), not_possible=not_possible,
        currency=program.situation.currency,
    )  # fmt: skip


def _for_year(question: Question, year: int) -> Question:
    """The question for another year: the amounts named for its first year hold there."""
    first = question.first_year or year
    money = {year: question.money[first]} if first in question.money else {}
    hours = {(year, skill): amount for (y, skill), amount in question.hours.items() if y == first}
    return replace(question, first_year=year, years=1, money=money, hours=hours)


def _alone(situation: Situation, urgent: pl.Series, year_share: float) -> Situation:
    """The situation of the urgent objects with what they have to be done, and the hours of the period."""
    mine = c("object_id").is_in(urgent.implode())
    options = situation.options.filter(mine, c("open"), ~c("done"))
    musts = [(o, o, None, _last_day(situation), "") for o in urgent if o in set(options["object_id"])]
    return replace(
        situation, objects=situation.objects.filter(mine).with_columns(left=pl.lit(value=False)),
        hazards=situation.hazards.filter(mine), options=options,
        musts=pl.DataFrame(musts, schema=MUST, orient="row"),
        hours=situation.hours.with_columns(c("hours") * year_share),
    )  # fmt: skip


def _places_as_options(situation: Situation, urgent: pl.Series) -> tuple[Situation, pl.DataFrame]:
    """Options for places as options of the first object that has none of its own, and option_id, object_id of all."""
    own = set(situation.options["object_id"])
    usable = situation.place_options.filter("open").select("option_id", "money", "currency")
    there = situation.protected.filter(
        c("object_id").is_in([o for o in urgent if o not in own]), c("option_id").is_in(usable["option_id"].implode())
    ).sort("option_id", "object_id")
    once = there.join(usable.sort("money", "option_id"), on="option_id").sort("money", "option_id")
    chosen = once.unique("object_id", keep="first", maintain_order=True).select("option_id", "object_id")
    firsts = chosen.unique("option_id", keep="first", maintain_order=True)
    options = pl.concat([situation.options, _as_option(firsts, usable)])
    musts = [(o, None, o, _last_day(situation), "") for o in firsts["option_id"]]
    return replace(
        situation, options=options, option_hours=_with_hours(situation, firsts["option_id"]),
        musts=pl.concat([situation.musts, pl.DataFrame(musts, schema=MUST, orient="row")]),
        place_options=situation.place_options.clear(),
    ), chosen  # fmt: skip


def _last_day(situation: Situation) -> date:
    """Last day of the first year, as which the period counts."""
    return date(situation.first_year + 1, 1, 1) - timedelta(days=1)


def _as_option(firsts: pl.DataFrame, usable: pl.DataFrame) -> pl.DataFrame:
    rows = firsts.join(usable, on="option_id").with_columns(
        loss_in_doing=0.0, lasts_years=None, setup_group=None, needs=[], excludes=[], together_with=[],
        prevents_loss=True, open=True, done=False, given_worth=None,
    )  # fmt: skip
    return rows.select(c(n).cast(t) for n, t in OPTION.items())


def _with_hours(situation: Situation, options: pl.Series) -> pl.DataFrame:
    """Hours of options; one for a place that nobody estimated takes none that is known."""
    known = situation.option_hours
    lacking = [o for o in options if o not in set(known["option_id"])]
    skill = known["skill"].min() if known.height else BENCH
    return pl.concat([known, pl.DataFrame([(o, skill, 0.0) for o in lacking], schema=OPTION_HOURS, orient="row")])


@returns(JOB)
def _jobs(chosen: pl.DataFrame, by_place: pl.DataFrame) -> pl.DataFrame:
    """What is to be done, most hours first, schema JOB."""
    objects = by_place.group_by("option_id").agg(objects=pl.len())
    rows = chosen.join(objects, on="option_id", how="left").with_columns(
        object_id=pl.when(c("objects").is_null()).then("object_id"), objects=c("objects").fill_null(1)
    )
    ordered = rows.sort("hours", "option_id", descending=[True, False])
    return ordered.select(c(n).cast(t) for n, t in JOB.items())
