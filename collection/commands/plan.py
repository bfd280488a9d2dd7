"""`enamels plan`: which treatments in which years with the money and hours there are, and what that prevents."""

from datetime import date
from pathlib import Path
from typing import Any

import click

from collection import pipeline
from collection.commands.options import as_of_option, by_option, json_option, require_named_store, store_option
from collection.commands.output import Answer, emit
from collection.commands.plan_answer import answer, plan_out_option, require_outputs, with_files, write_plan
from collection.commands.plan_others import against_actual, for_a_loan, with_a_sum
from collection.plan.musts import MustsNotMet
from collection.plan.plan import Plan, make_plan
from collection.plan.situation import Situation
from collection.plan.stability import stability
from collection.planning.asides import unspent, with_loan
from collection.planning.situation import Question, situation_of
from collection.questions.plan_sentences import together_sentence
from collection.questions.triage import Triage
from collection.questions.year_plan import not_met_sentence
from collection.recording.plans import accept as accept_plan
from collection.settings import as_of_day
from collection.store import Store
from schemas.errors import NotFound, WrongUsage
from schemas.vocabularies import vocabulary

EXAMPLE = """
\b
Examples:
  enamels plan --years 1 --money 2027=4000 --hours 2027:enamel_conservator=60
  enamels plan --accept --by "Ida Lindqvist"
  enamels plan --followed
  enamels plan --unspent 3000 --until 2027-03-31
  enamels plan --with-loan "LN 2027/1"
"""
ALONE = ("accept", "followed", "unspent", "with_loan")  # of these one at a time


@click.command(epilog=EXAMPLE)
@click.option("--years", type=click.IntRange(1, 10), help="Years it plans (default: 3).")
@click.option("--from", "first_year", type=click.IntRange(1900, 2200), help="First year (default: the next).")
@click.option("--horizon", type=click.FloatRange(1, 100), help="Years over which loss is counted (default: 10).")
@click.option("--money", "money", multiple=True, metavar="YEAR=AMOUNT", help="Money of a year, in place of its funds.")
@click.option("--hours", "hours", multiple=True, metavar="YEAR:SKILL=HOURS", help="Hours of a skill in a year.")
@click.option("--accept", is_flag=True, help="Accept the plan: it is written, and followed from now on.")
@click.option("--note", default="", help="A note with --accept.")
@click.option("--followed", is_flag=True, help="The accepted plan against what was done.")
@click.option("--unspent", type=click.FloatRange(0, min_open=True), metavar="AMOUNT", help="Money left, with --until.")
@click.option("--until", metavar="DATE", help="Last day of --unspent: what can be finished by then.")
@click.option("--with-loan", metavar="LOAN", help="What saying yes to this loan would displace.")
@plan_out_option
@by_option
@as_of_option
@store_option
@json_option
def plan(store_path: Path, as_json: bool, by: str, note: str, as_of: str | None, **asked: Any) -> None:
    """Plan treatments: objects, years, money and hours; what it prevents, and how far from the best that is.

    With --accept the plan is written and followed; --followed shows what became of it.
    """
    _require_one(asked, as_of)
    if asked["accept"]:
        require_named_store(store_path)
    require_outputs(asked["outputs"], store=store_path, replace=asked["replace"])
    store = Store(store_path)
    triage = pipeline.assess_store(store, lambda c: as_of_day(as_of, c))
    emit(_asked(store, triage, by, note, **asked), as_json=as_json)


def _require_one(asked: dict[str, Any], as_of: str | None) -> None:
    """Raise WrongUsage for options that do not go together."""
    named = [f"--{name.replace('_', '-')}" for name in ALONE if asked[name]]
    if len(named) > 1:
        raise WrongUsage(named[1], f"cannot go with {named[0]}", "one of them", "Ask twice.")
    if bool(asked["unspent"]) != bool(asked["until"]):
        raise WrongUsage("--unspent", "needs the last day of the money", "--unspent AMOUNT --until DATE", "Give both.")
    if asked["outputs"] and any(asked[name] for name in ("followed", "unspent", "with_loan")):
        raise WrongUsage("--out", "writes a plan, and none is drawn up here", "--out with a plan", "Leave one out.")
    if asked["accept"] and as_of:
        what = "a plan is accepted on the figures of today"
        raise WrongUsage("--accept", what, "--accept without --as-of", "Leave --as-of out.")


def _asked(
    store: Store, triage: Triage, by: str, note: str, *, years: int | None, first_year: int | None,
    horizon: float | None, money: tuple[str, ...], hours: tuple[str, ...], accept: bool, followed: bool,
    outputs: tuple[Path, ...], replace: bool, unspent: float | None, until: str | None, with_loan: str | None,
) -> Answer:  # fmt: skip
    """The answer to what was asked."""
    question = Question(first_year, years, horizon, dict(map(_money, money)), dict(map(_hours, hours)))
    if followed:
        return against_actual(triage)
    if unspent is not None and until is not None:
        return _with_a_sum(triage, unspent, _day(until))
    if with_loan is not None:
        return _for_a_loan(triage, question, with_loan)
    drawn_up = _solved(situation_of(triage, question))
    draws = stability(drawn_up)
    whole = answer(triage, drawn_up, draws)
    if outputs:
        write_plan(triage, drawn_up, draws, outputs, replace=replace)
        whole = with_files(whole, outputs)
    if not accept:
        return whole
    words = accept_plan(store, triage.collection, drawn_up, by=by, today=date.today(), note=note)
    return Answer(f"{whole.words}\n\n{words}", {**whole.document, "answer": words})


def _solved(situation: Situation) -> Plan:
    """The plan. Raises WrongUsage where no plan meets the musts."""
    solved = make_plan(situation)
    if isinstance(solved, MustsNotMet):
        words = f"{not_met_sentence(solved)} {together_sentence(solved)}".strip().removesuffix(".")
        raise WrongUsage("plan", words, "", "Give more, or move a day.")
    return solved


def _with_a_sum(triage: Triage, amount: float, last: date) -> Answer:
    return with_a_sum(triage, _solved(unspent(triage, amount, last)), amount, last)


def _for_a_loan(triage: Triage, question: Question, loan_id: str) -> Answer:
    promise = with_loan(triage, question, loan_id)
    return for_a_loan(triage, loan_id, promise, _solved(promise.without), make_plan(promise.together))


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise WrongUsage(
            "--until", f"'{text}' is no day", "a day such as 2027-03-31", "Write year-month-day."
        ) from None


def _money(text: str) -> tuple[int, float]:
    year, _, amount = text.partition("=")
    return int(_number(year, "--money", text)), _number(amount, "--money", text)


def _hours(text: str) -> tuple[tuple[int, str], float]:
    where, _, amount = text.partition("=")
    year, _, skill = where.partition(":")
    known = (*vocabulary("skill").term, "bench_days")
    if skill not in known:
        raise NotFound("--hours", f"there is no skill '{skill}'", ", ".join(known), "Choose one of them.")
    return (int(_number(year, "--hours", text)), skill), _number(amount, "--hours", text)


def _number(text: str, option: str, whole: str) -> float:
    try:
        number = float(text)
    except ValueError:
        number = -1.0
    if not 0 <= number < float("inf"):
        expected = "YEAR=AMOUNT" if option == "--money" else "YEAR:SKILL=HOURS"
        raise WrongUsage(option, f"'{whole}' cannot be read", expected, "Write it so.")
    return number
