"""What can be finished with a sum of money by a day: a plan of its own, beside the one that is followed."""

from dataclasses import replace
from datetime import date, timedelta

import polars as pl

from collection.plan.parameters import Planning
from collection.plan.situation import HOURS, MUST, Situation
from collection.planning.accepted import accepted_plan
from collection.planning.situation import Question, situation_of
from collection.planning.time_left import hours_left
from collection.questions.triage import Triage
from collection.snapshot import Collection
from schemas.errors import WrongUsage

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
