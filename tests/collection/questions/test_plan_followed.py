"""An accepted plan against what was done: each line done or why not, hours and money next to those planned."""

from datetime import date

import pytest

from collection.planning.accepted import Happened, accepted_plan, happened
from collection.questions.plan_followed import (
    followed,
    happened_sentence,
    not_done_sentence,
    sentence,
    totals,
    worth_sentence,
)
from tests.collection.planning.house import assessed_house, option
from tests.collection.risk.builders import check

LATER = date(2028, 3, 1)
PLAN = {
    "plan_id": "PL1", "made_on": date(2026, 9, 30), "first_year": 2027, "years": 3, "horizon": 10.0, "status": "accepted",
    "unit": "share", "prevented": 0.02, "bound": 0.02,
}  # fmt: skip


def line(number, year, worth=0.005, hours=4.6, money=100, **more):
    return {"plan_id": "PL1", "option_id": number, "year": year, "hours": hours, "money": money, "worth": worth} | more


def triage(**more):
    """A done in 2027, B begun, C given up, D of 2028; a case that is done, without a treatment."""
    return assessed_house(
        LATER,
        option=[
            option("A1", "A"), option("B1", "B"), option("C1", "C", status="dropped"), option("D1", "D"),
            option("P1", None, 2.0, 150, location_id="E1", status="done"),
        ],
        plan=[PLAN, {**PLAN, "plan_id": "PL0", "status": "superseded", "made_on": date(2026, 1, 1)}],
        plan_line=[line("A1", 2027, 0.01), line("B1", 2027), line("C1", 2027), line("D1", 2028), line("P1", 2027),
                   {**line("D1", 2027), "plan_id": "PL0"}],
        treatment=[
            {"treatment_id": "T1", "option_id": "A1", "object_id": "A", "started_on": date(2027, 2, 1),
             "finished_on": date(2027, 3, 1), "hours": 6.0, "materials_cost": 80, "authorised_by": "Ida"},
            {"treatment_id": "T2", "option_id": "B1", "object_id": "B", "started_on": date(2027, 11, 2), "authorised_by": "Ida"},
        ],
        **more,
    )  # fmt: skip


def rows_of(its):
    plan = accepted_plan(its.collection)
    return plan, followed(its, plan)


def test_each_line_is_done_or_says_why_not():
    plan, rows = rows_of(triage())

    assert plan.plan_id == "PL1"
    assert dict(rows.select("option_id", "stands").iter_rows()) == {
        "A1": "done 1 March 2027", "B1": "begun 2 November 2027, not finished", "C1": "given up", "P1": "done",
        "D1": "waits; its year is not over",
    }  # fmt: skip
    assert rows.filter("done")["option_id"].to_list() == ["A1", "P1"]
    assert rows.filter("done")["title"].to_list() == ["Plaque A", "East Store"]
    assert not_done_sentence(rows) == (
        "Not done: 1 (begun 2 November 2027, not finished), 1 (given up), 1 (waits; its year is not over)."
    )
    assert not_done_sentence(rows.filter("done")) == ""


@pytest.mark.parametrize(
    ("day", "words"),
    [(date(2026, 12, 31), "its year is still to come"), (date(2027, 6, 1), "waits; its year is not over"), (LATER, "waits; its year is over")],
)  # fmt: skip
def test_a_line_that_waits_says_whether_its_year_is_over(day, words):
    its = assessed_house(day, plan=[PLAN], plan_line=[line("A1", 2027)])

    assert rows_of(its)[1]["stands"].to_list() == [words]


def test_an_object_that_is_gone_and_one_that_a_decision_leaves_say_so_but_a_must_stays_due():
    decision = {"decision_id": "X", "object_id": "B", "decided_on": date(2027, 1, 1), "choice": "monitor", "reason": "quiet",
                "review_on": date(2030, 1, 1)}  # fmt: skip
    gone = [{"object_id": o, "status": "missing" if o == "A" else None} for o in "ABCD"]
    its = assessed_house(
        LATER, object=gone, decision=[decision, {**decision, "decision_id": "Y", "object_id": "C"}], plan=[PLAN],
        plan_line=[line("A1", 2027), line("B1", 2027), line("C1", 2027, must=True)],
    )  # fmt: skip

    assert rows_of(its)[1]["stands"].to_list() == [
        "the object is not here", "a decision leaves the object as it is", "waits; its year is over",
    ]  # fmt: skip


def test_hours_and_money_stand_next_to_those_planned():
    plan, rows = rows_of(triage())
    by_year, whole = totals(rows).rows(named=True)[0], totals(rows).rows(named=True)[-1]

    assert rows.row(0, named=True)["hours"] == 6.0
    assert rows.filter(done=False)["hours"].to_list() == [None, None, None]
    assert (by_year["year"], by_year["lines"], by_year["done"]) == (2027, 4, 2)
    assert (whole["lines"], whole["hours_planned"], whole["hours"]) == (5, pytest.approx(23.0), 6.0)
    assert (whole["money_planned"], whole["money"]) == (500, 80)
    assert (whole["worth_planned"], whole["worth_done"]) == (pytest.approx(0.03), pytest.approx(0.015))


def test_it_is_said_in_a_sentence_with_the_day_of_its_figures():
    its = triage()
    plan, rows = rows_of(its)

    assert sentence(its, plan, rows) == (
        "PL1, made on figures of 30 September 2026: 2 of 5 lines done, 5 due by the end of 2028; they took 6 hours"
        " (planned 5) and 80 EUR (planned 100)."
    )
    assert worth_sentence(plan, rows) == (
        "It was to prevent about 2 % of the collection's value in 10 years; the lines done were about 50 % of the worth"
        " of all its lines."
    )
    early = assessed_house(plan=[PLAN], plan_line=[line("A1", 2027)])
    assert worth_sentence(*rows_of(early)).endswith("; none of its lines is done.")


def test_without_an_accepted_plan_there_is_none():
    assert accepted_plan(assessed_house().collection) is None


def test_what_the_checks_saw_lost_since_stands_next_to_what_was_to_be_prevented():
    """A, worth 10 of 53, had 300 of 10,000 mm2 lifting and now has 900: .06 of a face, which
    weighs twice: 10/53 x (1 - .94^2); B grew nothing."""
    seen = [("k", "A", "2026-08-01", 300.0), ("k", "B", "2026-08-01", 300.0), ("l", "A", "2027-08-01", 900.0),
            ("l", "B", "2027-08-01", 300.0)]  # fmt: skip
    its = assessed_house(
        LATER, plan=[PLAN], plan_line=[line("A1", 2027), line("B1", 2027), line("C1", 2028)],
        condition_check=[check(f"{k}{o}", o, day) for k, o, day, _ in seen],
        observation=[
            {"check_id": f"{k}{o}", "damage_id": f"D{o}", "activity": "active", "area_mm2": size} for k, o, _, size in seen
        ],
    )  # fmt: skip
    since = happened(its, accepted_plan(its.collection))

    assert (since.objects, since.checked, since.unmeasured) == (3, 2, 0)
    assert since.lost == pytest.approx(10 / 53 * (1 - 0.94**2))
    assert happened_sentence(since) == (
        "Of its 3 objects 2 were checked since: the checks found about 2.2 % of the collection's value lost."
    )


@pytest.mark.parametrize(
    ("its", "words"),
    [
        (Happened(0, 0, 0.0, 0), ""),
        (Happened(2, 0, 0.0, 0), "None of its 2 objects was checked before and since: what was lost is not known."),
        (Happened(2, 1, 0.0, 1), "Of its 2 objects 1 was checked since: the checks found nothing lost, and more in"
                                 " 1 place where nobody recorded how much."),
    ],
)  # fmt: skip
def test_what_nobody_looked_at_or_measured_is_said(its, words):
    assert happened_sentence(its) == words
