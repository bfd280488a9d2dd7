"""What a person would say of a plan: each year, the next amount of money, and what to ask for."""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

import polars as pl

from collection.plan.musts import MustsNotMet
from collection.plan.plan import Plan
from collection.planning.accepted import accepted_plan
from collection.planning.asked import Asked
from collection.planning.clearing import Clearing
from collection.planning.situation import Question, currency
from collection.questions.plan_tables import BETWEEN, money_unit
from collection.questions.triage import Triage
from collection.questions.words import SHOWN_REASONS, count, day_in_words, rounded_up, two_figures
from collection.questions.year_plan import money_words, sentence, worth_words
from schemas.vocabularies import vocabulary

TIMES = 2  # from here on one says so many times as much
PERCENT = 100  # in a whole
WORK = ("work on a place", "works on places")
c = pl.col


def year_sentence(row: Mapping[str, Any]) -> str:
    """*2027: 9 treatments and 2 works on places; 58 of 60 hours of enamel conservator, 3,960 of 4,000 GBP.*"""
    treatments = [count(row["treatments"], "treatment")] if row["treatments"] else []
    places = [count(row["places"], *WORK)] if row["places"] else []
    must = f", {row['musts']} of them required" if row["musts"] else ""
    takes = f"; {row['takes']}" if row["takes"] else ""
    nothing = "nothing new; work already begun goes on" if takes else "nothing is planned"
    return f"{row['year']}: {' and '.join(treatments + places) or nothing}{must}{takes}."


def next_amount_sentence(triage: Triage, plan: Plan, more: Plan, amount: float) -> str:
    """*1,000 GBP more in 2027 would prevent another 0.003 % of the collection's value: it pays for 1957.1 (Plaque).*

    more : the plan solved again with so much more in its first year.
    """
    year, unit = plan.first_year, money_unit(plan)
    head = f"{amount:,.0f} {unit} more in {year}"
    gain = more.prevented - plan.prevented
    if gain <= plan.prevented * 10 * plan.gap or gain <= 0:
        return f"{head} would prevent nothing more{_unspent(plan, unit)}."
    before = set(plan.lines["option_id"]) | set(plan.places["option_id"])
    lines = more.lines.select("option_id", what=c("object_id"), worth="worth")
    both = pl.concat([lines, more.places.select("option_id", what="location_id", worth="worth")])
    fresh = both.filter(~c("option_id").is_in(list(before))).sort("worth", descending=True)["what"].to_list()
    for_what = f": what it pays for is {_named(triage, fresh)}" if fresh else ", since works can be done sooner"
    words = worth_words(plan, gain)
    more_words = (
        f"another {words.removeprefix('about ')}" if not words.startswith("under") else f"a little more, {words}"
    )
    return f"{head} would prevent {more_words}{for_what}."


def twice_sentence(plan: Plan) -> str:
    """*Over 20 years it prevents 0.085 %, of 0.36 % expected to be lost; beyond that nothing is counted.*"""
    words = [worth_words(plan, worth) for worth in (plan.prevented_twice, plan.expected_twice)]
    return (
        f"Over {2 * plan.horizon:g} years it prevents {words[0]}, of {words[1]} expected to be lost; what comes"
        " later is not counted, which favours work that is done soon."
    )


def setups_sentence(plan: Plan) -> str:
    """*Set-up work that treatments share: desalting in 2027.* Empty where there is none."""
    each = BETWEEN.join(f"{group} in {year}" for group, year in plan.setups.iter_rows())
    return f"Set-up work that treatments share: {each}." if each else ""


def better_sentence(plan: Plan) -> str:
    """*This plan prevents 12 % more than highest risk first and 7 % more than best worth per cost first.*"""
    ways = [(name, prevented) for name, prevented in plan.rules.iter_rows() if prevented]
    each = [f"{_more(plan.prevented / prevented)} {name}" for name, prevented in ways]
    unable = [name for name, prevented in plan.rules.iter_rows() if prevented is None]
    lacking = f" What must be done is not done in time by {' and '.join(unable)}." if unable else ""
    return (f"This plan prevents {' and '.join(each)}." if each else "") + lacking


def _more(times: float) -> str:
    """*12 % more than*, *as much as*, *3.1 times as much as*."""
    if times >= TIMES:
        return f"{two_figures(times)} times as much as"
    share = round(PERCENT * (times - 1))
    return f"{share} % more than" if share else "as much as"


def _unspent(plan: Plan, unit: str) -> str:
    """Why more money does nothing: some of it is left, or hours are what is short."""
    mine = plan.limits.filter(c("skill").is_null(), c("year") == plan.first_year)
    left = float((mine["limit"] - mine["used"]).sum())
    short = plan.limits.filter(c("skill").is_not_null(), c("price") > 0)["skill"].unique().sort()
    labels = vocabulary("skill").labels()
    hours = f"; what is short is hours of {BETWEEN.join(labels.get(s, s).lower() for s in short)}" if len(short) else ""
    return f": this plan leaves {left:,.0f} {unit} of that year unspent{hours}" if left >= 1 else hours


def _named(triage: Triage, numbers: Sequence[str]) -> str:
    """Objects and places by number and name, a few of them."""
    objects = dict(triage.collection["object"].select("object_id", "title").iter_rows())
    places = dict(triage.collection["location"].select("location_id", "name").iter_rows())
    names = [f"{n} ({(objects.get(n) or places.get(n) or n).split(',')[0]})" for n in numbers[:SHOWN_REASONS]]
    rest = [f"{len(numbers) - SHOWN_REASONS} more"] if len(numbers) > SHOWN_REASONS else []
    return BETWEEN.join(names + rest)


def undone_sentence(rows: pl.DataFrame) -> str:
    """*23 proposals. Costs more than it saves: 12; ...*, by reason, most first; `rows`: schema UNDONE."""
    if rows.is_empty():
        return "Every proposal on record is planned."
    why = rows.group_by("why").agg(n=pl.len()).sort("n", "why", descending=[True, False]).iter_rows()
    each = "; ".join(f"{words}: {n}" for words, n in why)
    return f"{count(rows.height, 'proposal')}. {each[:1].upper()}{each[1:]}."


def asked_sentence(asked: Asked, question: Question, currency: str | None) -> str:
    """*Planned for 4,000 GBP a year and 60 hours of enamel conservator a year, in place of what is on record.*"""
    labels = vocabulary("skill").labels()
    parts = [f"{money_words(f'{asked.money:,.0f}', currency)} a year"] if asked.money is not None else []
    parts += [f"{h:,.0f} hours of {labels.get(s, s).lower()} a year" for s, h in sorted(asked.hours.items())]
    years = count(question.years or 1, "year")
    if not parts:
        return f"Planned for {years} with the money and hours on record."
    return f"Planned for {years} with {' and '.join(parts)}, in place of what is on record."


def sum_sentence(triage: Triage, plan: Plan, amount: float, last: date) -> str:
    """*With 1,000 GBP until 31 March 2027, beside the plan that is followed: 2 treatments over 1 year prevent ...*

    plan : of the situation of this sum.
    """
    followed = ", beside the plan that is followed" if accepted_plan(triage.collection) else ""
    money = money_words(f"{amount:,.0f}", currency(triage))
    return f"With {money} until {day_in_words(last)}{followed}: {sentence(plan)}"


def clearing_sentence(its: Clearing) -> str:
    """*All of the 17 objects that need attention now by 30 June 2027: ask for 57 more hours of enamel conservator.*"""
    head = f"To have what needs attention now done by {day_in_words(its.until)}"
    if not its.jobs.height:
        return (
            f"{head}, proposals are needed first: none of {count(its.objects, 'object')} has one that can be planned."
        )
    lacking = its.needs.filter(c("lacking") > 0)
    if lacking.is_empty():
        return f"{head}, nothing has to be asked for: what there is will do for {_served(its)}."
    asked = BETWEEN.join(_amount(row, "lacking", its.currency) for row in lacking.iter_rows(named=True))
    return f"{head}, ask for another {asked}. That does for {_served(its)}."


def clearing_details(its: Clearing) -> list[str]:
    """What it takes against what there is, how that is reckoned, and for what there is no proposal."""
    takes = [r for r in its.needs.iter_rows(named=True) if r["needed"] > 0]
    each = "; ".join(f"{_amount(r, 'needed', its.currency)} where there are {r['available']:,.0f}" for r in takes)
    days = f"{day_in_words(its.begins)} to {day_in_words(its.until)}"
    sentences = [
        each and f"It takes {each}.",
        f"Counted are the money of {its.until.year} and the share of its hours that falls into {days}; what is left of"
        " an earlier year is not.",
        its.no_proposal and f"No proposal is on record for {BETWEEN.join(its.no_proposal)}.",
        its.not_possible and f"Nobody estimated hours for, or out of reach: {BETWEEN.join(its.not_possible)}.",
    ]
    return [words for words in sentences if words]


def _served(its: Clearing) -> str:
    """*14 of 17 objects*."""
    return f"{its.jobs['objects'].sum()} of {count(its.objects, 'object')}"


def _amount(row: Mapping[str, Any], column: str, currency: str | None) -> str:
    """*57 hours of enamel conservator*, *420 GBP*."""
    if row["skill"] is None:
        return money_words(rounded_up(row[column]), currency)
    label = vocabulary("skill").labels().get(row["skill"], row["skill"])
    return f"{rounded_up(row[column])} hours of {label.lower()}"


def musts_sentence(triage: Triage, numbers: Sequence[str]) -> str:
    """*M1: 1959.1 (Tafel), by 31 March 2028.*, what each of some musts asks for."""
    objects = dict(triage.collection["option"].select("option_id", "object_id").iter_rows())
    rows = triage.collection["must"].filter(c("must_id").is_in(list(numbers))).sort("must_id")
    each = [
        f"{must}: {_named(triage, [number or objects.get(option) or option])}, by {day_in_words(by)}"
        for must, number, option, by in rows.select("must_id", "object_id", "option_id", "done_by").iter_rows()
    ]
    return f"{'; '.join(each)}." if each else ""


def together_sentence(why: MustsNotMet) -> str:
    """The least more of several limits at once that would do for all that must be done; empty where nothing would."""
    rows = why.together.rename({"extra": "lacking"}).iter_rows(named=True)
    each = [f"{_amount(row, 'lacking', why.currency)} in {row['year']}" for row in rows]
    if not each:
        return ""
    least = f"The least that would do for all that must be: {BETWEEN.join(each)} more"
    return f"{least}{'' if why.least_cost is None else _at_price(why.least_cost, why.currency)}."


def _at_price(cost: float, currency: str | None) -> str:
    """What the least costs where hours have a price."""
    return f"; with hours at their price, the least of all is {money_words(rounded_up(cost), currency)}"
