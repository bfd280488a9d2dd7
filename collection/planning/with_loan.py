"""A plan as it would be if a loan were agreed: its journeys, and what has to be done before it leaves."""

from dataclasses import dataclass, replace
from datetime import date, timedelta

import polars as pl

from collection.loans.rules import NOT_FIT
from collection.plan.parameters import Planning
from collection.plan.situation import MUST, Situation
from collection.planning.situation import Question, situation_of
from collection.planning.time_left import hours_left
from collection.questions.travel import travel
from collection.questions.triage import Triage
from schemas.errors import NotFound, WrongUsage
from schemas.records.plan import LOAN

c = pl.col


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
