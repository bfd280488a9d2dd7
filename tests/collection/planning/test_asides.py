"""What can be finished with a sum by a day, and what saying yes to a loan displaces."""

from datetime import date

import polars as pl
import pytest

from collection.plan.musts import MustsNotMet
from collection.plan.plan import make_plan
from collection.planning.asides import hours_left, unspent, with_loan
from collection.planning.situation import Question
from collection.questions.loan_displaces import displaced, sentence
from schemas.errors import NotFound, WrongUsage
from tests.collection.planning.house import AS_OF, assessed_house, option

PLAN = {
    "plan_id": "PL1", "made_on": AS_OF, "first_year": 2027, "years": 2, "horizon": 10.0, "status": "accepted",
    "unit": "share", "prevented": 0.02, "bound": 0.02,
}  # fmt: skip


def chosen(its):
    plan = make_plan(its)
    return sorted([*plan.lines["option_id"], *plan.places["option_id"]])


def test_hours_are_those_left_between_the_days():
    """2026 has 92 of 365 days from 1 October on, 2027 90 of 365 to the end of March."""
    left = hours_left(assessed_house().collection, date(2026, 10, 1), date(2027, 3, 31))

    assert left == {(2026, "technician"): 12 * 92 / 365, (2027, "technician"): 12 * 90 / 365}


def test_a_sum_finishes_what_it_and_the_hours_can():
    """6 hours are left by the end of March (5.98); an option of 4 takes 4.6 with its documentation."""
    its = unspent(assessed_house(), 100, date(2027, 3, 31))

    assert its.hours["hours"].to_list() == [pytest.approx(12 * 92 / 365 + 12 * 90 / 365)]
    assert its.money["money"].to_list() == [100]
    assert chosen(its) == ["B1"]
    assert chosen(unspent(assessed_house(), 99, date(2027, 3, 31))) == []


def test_the_plan_that_is_followed_keeps_its_lines_and_its_hours():
    """B1 is in the plan of 2027: it has its own money, and takes a quarter of its hours by the end of March."""
    lines = [{"plan_id": "PL1", "option_id": "B1", "year": 2027, "hours": 4.6, "money": 100, "worth": 0.01},
             {"plan_id": "PL1", "option_id": "A1", "year": 2028, "hours": 4.6, "money": 100, "worth": 0.01}]  # fmt: skip
    its = unspent(assessed_house(plan=[PLAN], plan_line=lines), 300, date(2027, 3, 31))

    share = (date(2027, 3, 31) - date(2027, 1, 1)).days / 365
    assert its.hours["hours"].to_list() == [pytest.approx(12 * 182 / 365 - 4.6 * share)]
    assert not its.options.filter(option_id="B1")["open"].item()
    assert its.options.filter(option_id="A1")["open"].item()  # a line of a later year may be brought forward
    assert "A1" in chosen(its)


def test_what_has_to_lie_longer_than_there_are_days_is_out_and_musts_stay_with_the_plan():
    slow = [option("A1", "A", waiting_days=200), option("B1", "B", waiting_days=30), option("C1", "C")]
    must = [{"must_id": "m", "object_id": "C", "done_by": date(2028, 12, 31), "because": "decision"}]
    its = unspent(assessed_house(option=slow, must=must), 1000, date(2027, 3, 31))

    assert its.musts.is_empty()
    assert its.options.filter("open")["option_id"].to_list() == ["B1", "C1"]


def test_a_day_that_is_past_is_refused():
    with pytest.raises(WrongUsage, match="is not after 2026-09-30"):
        unspent(assessed_house(), 100, AS_OF)


def lent(leaves, *objects, status="asked_for", **more):
    """A loan of objects whose lifting has to be consolidated before they travel."""
    return assessed_house(
        loan=[{"loan_id": "LN 1", "direction": "out", "borrower": "Invented Gallery", "status": status}],
        loan_leg=[{"loan_id": "LN 1", "leg": 1, "starts_on": leaves, "ends_on": date(leaves.year, 12, 30)}],
        loan_object=[{"loan_id": "LN 1", "object_id": o, "part": "whole"} for o in objects],
        **more,
    )


def test_its_objects_must_be_ready_in_a_year_that_ends_before_it_leaves():
    its = lent(date(2029, 5, 3), "A", "D")
    promise = with_loan(its, Question(years=2), "LN 1")

    assert promise.asked == ("A", "D")
    assert promise.without.musts.is_empty()
    assert promise.together.musts.select("object_id", "done_by", "because").rows() == [
        ("A", date(2029, 5, 2), "loan"), ("D", date(2029, 5, 2), "loan"),
    ]  # fmt: skip
    assert promise.without.first_year == 2027
    assert {"A1", "D1"} <= set(make_plan(promise.together).lines["option_id"])


def test_what_it_displaces_is_named_with_what_less_is_prevented():
    """Hours for two a year, one year: B and A without the loan, D and one of them with it."""
    its = lent(date(2028, 5, 3), "D")
    promise = with_loan(its, Question(years=1), "LN 1")
    without, together = make_plan(promise.without), make_plan(promise.together)
    rows = displaced(its, without, together, promise.asked)

    assert "D1" not in without.lines["option_id"].to_list()
    gone = rows.filter(pl.col("together").is_null())
    assert rows.filter(option_id="D1").select("without", "together", "of_loan").row(0) == (None, 2027, True)
    assert gone.height == 1
    assert gone["without"].to_list() == [2027]
    words = sentence("LN 1", promise.leaves_on, rows, without, together, promise.no_option)
    assert words.startswith(
        "LN 1, leaves 3 May 2028: 1 object comes into the plan or forward for it; 1 line falls out, "
    )
    assert " less." in words


def test_a_loan_that_is_asked_for_brings_its_journeys_only_with_a_yes():
    promise = with_loan(lent(date(2028, 5, 3), "D"), Question(years=2), "LN 1")

    assert promise.without.journeys.is_empty()
    assert set(promise.together.journeys["object_id"]) == {"D"}


def test_a_plan_that_would_begin_too_late_begins_this_year_with_the_hours_that_are_left():
    promise = with_loan(lent(date(2027, 5, 3), "D"), Question(years=2), "LN 1")

    assert promise.together.first_year == 2026
    assert promise.together.hours.filter(year=2026)["hours"].to_list() == [pytest.approx(12 * 93 / 365)]
    assert isinstance(make_plan(promise.together), MustsNotMet)  # 3 hours are left, 4.6 are needed


def test_an_object_that_no_option_helps_is_named():
    promise = with_loan(lent(date(2029, 5, 3), "A", option=[option("B1", "B")]), Question(), "LN 1")

    assert (promise.asked, promise.no_option) == ((), ("A",))


def test_a_loan_there_is_none_of_and_one_that_has_left_are_refused():
    with pytest.raises(NotFound, match="there is no loan LN 9"):
        with_loan(lent(date(2028, 5, 3), "D"), Question(), "LN 9")
    with pytest.raises(WrongUsage, match="left on 2026-05-03"):
        with_loan(lent(date(2026, 5, 3), "D"), Question(), "LN 1")
