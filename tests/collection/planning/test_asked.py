"""What a person asks of a plan: read from an address, and what it takes to clear what needs attention now."""

from datetime import date

import polars as pl
import pytest

from collection.plan.plan import make_plan
from collection.planning.asked import Asked, clear_by, on_record, skills_needed
from collection.planning.clearing import clearing
from collection.planning.situation import Question, currency, situation_of
from collection.questions import plan_line, plan_sentences, plan_tables
from schemas.errors import WrongUsage
from tests.collection.planning.house import assessed_house
from tests.collection.planning.museum import house

SUMMER = date(2027, 6, 30)
HALF = 181 / 365.25  # of the year, from 1 January to 30 June


def test_an_address_is_read_as_a_question():
    asked = Asked.of_query(
        {"plan_money": "4000", "plan_hours_enamel_conservator": "60", "plan_years": "2", "plan_clear": "1", "find": "x"}
    )
    question = asked.question(house())

    assert asked.unread == ()
    assert asked.clear
    assert (question.first_year, question.years) == (2027, 2)
    assert question.money == {2027: 4000.0, 2028: 4000.0}
    assert question.hours == {(2027, "enamel_conservator"): 60.0, (2028, "enamel_conservator"): 60.0}


@pytest.mark.parametrize(
    ("year_money", "setting", "expected"),
    [
        ([{"year": 2027, "fund": "general", "money": 250, "currency": "EUR"}], "GBP", "EUR"),
        ([], "GBP", "GBP"),
        ([], None, None),
    ],
    ids=["of the funds", "as set", "none"],
)
def test_money_that_is_named_is_in_the_museums_currency(year_money, setting, expected):
    """That of its funds, since the amounts stand beside theirs; else as set."""
    settings = [{"name": "currency", "value": setting}] if setting else []
    museum = assessed_house(year_money=year_money, setting=settings)

    situation = situation_of(museum, Question(money={2027: 100.0, 2028: 100.0, 2029: 100.0}))

    assert currency(museum) == situation.currency == expected
    assert situation.money["currency"].unique().to_list() == [expected]


def test_a_currency_that_is_set_and_another_of_the_options_are_not_added_up():
    museum = assessed_house(year_money=[], setting=[{"name": "currency", "value": "GBP"}])

    with pytest.raises(WrongUsage, match="money in EUR and GBP"):
        make_plan(situation_of(museum, Question(money={2027: 100.0, 2028: 100.0, 2029: 100.0})))


@pytest.mark.parametrize(
    ("name", "text"),
    [("plan_money", "a lot"), ("plan_money", "-1"), ("plan_money", "inf"), ("plan_years", "0"), ("plan_years", "2.5"),
     ("plan_years", "11"), ("plan_hours_enamel_conservator", "nan"), ("plan_hours_juggler", "3")],
)  # fmt: skip
def test_what_cannot_be_read_is_said_and_left_out(name, text):
    asked = Asked.of_query({name: text, "plan_line": "A1", "plan_round_hours": "5"})

    (words,) = asked.unread
    assert name in words
    assert text in words
    assert (asked.years, asked.money, asked.hours) == (None, None, {})


def test_what_is_on_record_stands_by_year():
    rows = on_record(house(), range(2027, 2029))

    assert rows.filter(pl.col("skill").is_null()).rows() == [(None, 2027, 500.0), (None, 2028, 500.0)]
    assert rows.filter(pl.col("skill") == "technician")["amount"].to_list() == [10.0, 10.0]
    assert skills_needed(house()) == ["enamel_conservator", "technician"]


@pytest.mark.parametrize(
    ("day", "by"), [(date(2026, 11, 1), SUMMER), (date(2027, 6, 30), SUMMER), (date(2027, 7, 1), date(2028, 6, 30))]
)
def test_the_next_summer(day, by):
    assert clear_by(day) == by


def needs_of(its):
    return {row["skill"]: row for row in its.needs.iter_rows(named=True)}


def test_what_it_takes_to_clear_what_needs_attention_now():
    """A by A1 (10 h + 15 % documentation, 100), B by B1 (23 h, 200), C by its place (2.3 h, 300); D and E cannot be."""
    its = clearing(house(), Asked().question(house()), SUMMER)
    needs = needs_of(its)

    assert (its.objects, its.no_proposal, its.not_possible) == (5, ("D",), ("E",))
    assert its.jobs.select("option_id", "object_id", "objects").rows() == [
        ("B1", "B", 1),
        ("A1", "A", 1),
        ("P1", None, 1),
    ]
    assert its.year_share == pytest.approx(HALF)
    assert needs["enamel_conservator"]["needed"] == pytest.approx(34.5)
    assert needs["enamel_conservator"]["available"] == pytest.approx(60 * HALF)
    assert needs["enamel_conservator"]["lacking"] == pytest.approx(34.5 - 60 * HALF)
    assert (needs[None]["needed"], needs[None]["available"], needs[None]["lacking"]) == pytest.approx((600, 500, 100))
    assert needs["technician"]["lacking"] == 0


def test_it_is_said_as_what_to_ask_for():
    its = clearing(house(), Asked().question(house()), SUMMER)
    words = " ".join(plan_sentences.clearing_details(its))

    assert plan_sentences.clearing_sentence(its) == (
        "To have what needs attention now done by 30 June 2027, ask for another 100 EUR, 4.8 hours of enamel"
        " conservator. That does for 3 of 5 objects."
    )
    assert "No proposal is on record for D." in words
    assert "out of reach: E." in words
    assert plan_tables.clearing_rows(house(), its)["place"].to_list()[-1] == "Room under the roof"


def test_where_there_is_enough_nothing_is_asked_for_and_the_way_that_takes_least_is_shown():
    rich = house(1000.0, 200.0)
    its = clearing(rich, Asked().question(rich), SUMMER)

    assert its.needs["lacking"].sum() == 0
    assert needs_of(its)["enamel_conservator"]["needed"] == pytest.approx(34.5)  # A1, not A2 of 46 h
    assert "nothing has to be asked for: what there is will do for 3 of 5 objects" in plan_sentences.clearing_sentence(
        its
    )


def test_hours_that_are_named_hold_there_too_and_of_this_year_only_what_is_left_counts():
    asked = Asked.of_query({"plan_hours_enamel_conservator": "120", "plan_money": "700"})
    its = clearing(house(), asked.question(house()), SUMMER)
    needs = needs_of(its)

    assert needs["enamel_conservator"]["available"] == pytest.approx(120 * HALF)
    assert (needs[None]["available"], its.needs["lacking"].sum()) == (700, 0)


def test_a_line_of_the_plan_is_explained():
    """Worked by hand for one hazard by itself: the losses of the plan's own sum, with and without."""
    triage = house()
    plan = make_plan(situation_of(triage, Asked().question(triage)))
    (option_id,) = plan.lines.filter(pl.col("object_id") == "B")["option_id"]
    rows = plan_line.line_hazards(triage, plan, "B")
    objects = plan.basis.program.situation.objects
    share = dict(objects.select("object_id", "value_share").iter_rows())["B"]
    line = plan.lines.row(by_predicate=pl.col("option_id") == option_id, named=True)

    assert rows.select("part", "rate_left").rows() == [("whole", 0.1)]
    assert "active lifting" in rows["hazard"][0]
    assert share * (rows["loss_without"][0] - rows["loss_with"][0]) == pytest.approx(
        line["worth"]
    )  # one hazard, all of it
    first, second, *_ = plan_line.line_sentences(triage, plan, option_id)
    assert first.startswith(f"Consolidation, planned for {line['year']}: about 23 hours of enamel conservator")
    assert "the estimate is 20, one figure" in first
    assert "expected to lose" in second


def test_what_was_asked_is_said():
    asked = Asked.of_query({"plan_hours_enamel_conservator": "60", "plan_money": "4000", "plan_years": "1"})

    assert plan_sentences.asked_sentence(asked, asked.question(house()), "GBP") == (
        "Planned for 1 year with 4,000 GBP a year and 60 hours of enamel conservator a year, in place of what is on"
        " record."
    )
    assert plan_sentences.asked_sentence(Asked(), Asked().question(house()), None) == (
        "Planned for 3 years with the money and hours on record."
    )
