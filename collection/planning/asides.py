"""Plans asked for beside the one that is followed: what a sum can finish by a day, and how it would be with a loan."""

from dataclasses import dataclass, replace
from datetime import date, timedelta

import polars as pl

from collection.loans.rules import NOT_FIT
from collection.plan.parameters import Planning
from collection.plan.situation import HOURS, MUST, Situation
from collection.planning.accepted import accepted_plan
from collection.planning.situation import Question, situation_of
from collection.questions.travel import travel
from collection.questions.triage import Triage
from collection.snapshot import Collection
from schemas.errors import NotFound, WrongUsage
from schemas.records.plan import LOAN

ONE_DAY = timedelta(days=1)
c = pl.col


def unspent(triage: Triage, amount: float, last: date, figures: Planning | None = None) -> Situation:
    """The situation of a plan of one year with this money and the hours left until the day; musts are left to the plan
    that is followed, and so are its lines up to that year, with the hours they take.

    Options that have to lie longer than there are days are left out. Raises WrongUsage for a day that is past.
    """
    if last <= triage.as_of:
        raise WrongUsage(
            "--until", f"{last} is not after {triage.as_of}", "a day to come", "Give the last day of the money."
        )
    question = Question(first_year=last.year, years=1, money={last.year: amount})
    its = situation_of(triage, question, figures)
    days = (last - triage.as_of).days
    away = _spoken_for(triage.collection, last) | _too_slow(triage.collection, days)
    stays = ~c("option_id").is_in(sorted(away))
    return replace(
        its, options=its.options.with_columns(open=c("open") & stays), musts=pl.DataFrame(schema=MUST),
        place_options=its.place_options.with_columns(open=c("open") & stays), hours=_hours(triage, its, last),
        money=its.money.filter(c("year") == last.year),
    )  # fmt: skip


def _spoken_for(collection: Collection, last: date) -> set[str]:
    """Options that the plan followed now does with its own money by that year."""
    plan = accepted_plan(collection)
    return set() if plan is None else set(plan.lines.filter(c("year") <= last.year)["option_id"])


def _too_slow(collection: Collection, days: int) -> set[str]:
    """Options that have to lie for longer."""
    return set(collection["option"].filter(c("waiting_days") > days)["option_id"])


def _hours(triage: Triage, its: Situation, last: date) -> pl.DataFrame:
    """Hours of each skill until the day, less what the plan followed now takes of them."""
    left = hours_left(triage.collection, triage.as_of + timedelta(days=1), last)
    there: dict[str, float] = {skill: 0.0 for _, skill, _ in its.hours.iter_rows()}
    for (_, skill), hours in left.items():
        there[skill] = there.get(skill, 0.0) + hours
    for skill, hours in _spoken_hours(triage, its, last).items():
        there[skill] = max(0.0, there.get(skill, 0.0) - hours)
    rows = [(last.year, skill, hours) for skill, hours in there.items()]
    return pl.DataFrame(rows, schema=HOURS, orient="row")


def _spoken_hours(triage: Triage, its: Situation, last: date) -> dict[str, float]:
    """Hours by skill that open lines of the plan followed now take until that day: of years before it whole, of its
    year by the share of days.
    """
    plan = accepted_plan(triage.collection)
    if plan is None:
        return {}
    begins = date(last.year, 1, 1)
    share = (last - begins) / (date(last.year + 1, 1, 1) - begins)
    waiting = its.options.filter("open", ~c("done"))["option_id"]
    lines = plan.lines.filter(c("option_id").is_in(waiting.implode()), c("year") <= last.year)
    part = pl.when(c("year") < last.year).then(1.0).otherwise(share)
    hours = lines.select("option_id", part=part).join(its.option_hours, on="option_id")
    summed = hours.group_by("skill").agg((c("hours") * c("part")).sum())
    return dict(summed.iter_rows())


@dataclass(frozen=True)
class Promise:
    """without, together : the situation without the loan and with it. leaves_on : its first day. asked : objects that
    must be treated before. no_option : objects that are not fit to travel and have no option on record.
    """

    without: Situation
    together: Situation
    leaves_on: date
    asked: tuple[str, ...]
    no_option: tuple[str, ...]


def with_loan(triage: Triage, question: Question, loan_id: str, figures: Planning | None = None) -> Promise:
    """Both situations for one loan. A plan that begins too late to do anything before the loan leaves begins with the
    year of the question instead, with the hours that are left of it.

    Raises NotFound for a loan there is none of, WrongUsage for one without a day or that has left.
    """
    leaves_on = _leaves_on(triage, loan_id)
    asked, no_option = _unfit(triage, loan_id)
    earlier = _begun_early(triage, question, leaves_on) if asked else question
    without = situation_of(triage, earlier, figures)
    agreed = replace(triage, collection=replace(triage.collection, frames=_agreed(triage, loan_id)))
    together = situation_of(agreed, earlier, figures)
    last = leaves_on - timedelta(days=1)
    rows = [(f"{loan_id}: {number}", number, None, last, LOAN) for number in asked]
    musts = pl.concat([_others(triage, together, loan_id), pl.DataFrame(rows, schema=MUST, orient="row")])
    return Promise(
        replace(without, musts=_others(triage, without, loan_id)),
        replace(together, musts=musts),
        leaves_on,
        asked,
        no_option,
    )


def _leaves_on(triage: Triage, loan_id: str) -> date:
    if loan_id not in set(triage.collection["loan"]["loan_id"]):
        known = ", ".join(triage.collection["loan"]["loan_id"].sort())
        raise NotFound("--with-loan", f"there is no loan {loan_id}", known, "Choose one of them.")
    first = triage.collection["loan_leg"].filter(c("loan_id") == loan_id)["starts_on"].min()
    if not isinstance(first, date) or first <= triage.as_of:
        what = f"{loan_id} left on {first}" if isinstance(first, date) else f"{loan_id} has no first day"
        raise WrongUsage("--with-loan", what, "a loan that is still to leave", "Record the days of its venues.")
    return first


def _unfit(triage: Triage, loan_id: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Objects of the loan that are not fit as recorded: those that an option would help, and those that none does."""
    objects = triage.collection["loan_object"].filter(c("loan_id") == loan_id)["object_id"].unique().sort()
    rows = travel(triage, objects.to_list(), loan_id).filter(c("verdict") == NOT_FIT)
    helped = rows.filter(c("options").list.len() > 0)["object_id"].sort()
    other = rows.filter(c("options").list.len() == 0, c("no_estimate") > 0)["object_id"].sort()
    return tuple(helped), tuple(other)


def _begun_early(triage: Triage, question: Question, leaves_on: date) -> Question:
    """The question, begun in a year that ends before the loan leaves where there is one."""
    first = question.first_year or triage.as_of.year + 1
    if first < leaves_on.year or triage.as_of.year >= leaves_on.year:
        return question
    year = triage.as_of.year
    left = hours_left(triage.collection, triage.as_of, date(year, 12, 31))
    return replace(question, first_year=year, hours={**left, **question.hours})


def _agreed(triage: Triage, loan_id: str) -> dict[str, pl.DataFrame]:
    """The records with the loan's answer no longer awaited: its journeys count."""
    loans = triage.collection.frames["loan"]
    answered = loans.with_columns(status=pl.when(c("loan_id") != loan_id).then("status"))
    return {**triage.collection.frames, "loan": answered}


def _others(triage: Triage, its: Situation, loan_id: str) -> pl.DataFrame:
    """Musts that are not this loan's."""
    mine = triage.collection["must"].filter(c("loan_id") == loan_id)["must_id"]
    return its.musts.filter(~c("must_id").is_in(mine.implode()))


def hours_left(collection: Collection, first: date, last: date) -> dict[tuple[int, str], float]:
    """Hours of each (year, skill) from a day to another, both counted, by their share of the days of the year."""
    left = {}
    for year, skill, hours in collection["year_hours"].select("year", "skill", "hours").iter_rows():
        if first.year <= year <= last.year:
            left[year, skill] = hours * _share(year, first, last)
    return left


def _share(year: int, first: date, last: date) -> float:
    """Share of a year's days that lie between two days."""
    begins, ends = date(year, 1, 1), date(year, 12, 31)
    days = (min(last, ends) - max(first, begins) + ONE_DAY).days
    return max(0, days) / (ends - begins + ONE_DAY).days
