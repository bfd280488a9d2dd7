"""Tables and sentences of a plan, on the tiny plan and on cases worked by hand."""

from datetime import date

import polars as pl
import pytest

from collection.plan.otherwise import frontier, with_more_money
from collection.plan.plan import make_plan
from collection.questions import plan_sentences, plan_tables
from collection.questions.words import rounded_up
from tests.collection.plan.builders import hours, money, must, obj, option, situation_of
from tests.collection.plan.tiny import tiny
from tests.collection.planning.museum import option as option_row
from tests.collection.risk.builders import register, triaged


@pytest.fixture(scope="module")
def plan():
    return make_plan(tiny())


def bought(budget, *funds):
    """A plan of one job of 700 in a year of these funds."""
    return make_plan(
        situation_of(
            objects=[obj("A")],
            options=[option("A1", "A", 700, given_worth=0.5)],
            option_hours=[("A1", "bench", 1.0)],
            money=[f for fund in funds for f in fund] or money(budget),
            hours=hours("bench", 8),
        )
    )


def test_each_year_in_one_row(plan):
    rows = plan_tables.by_year(plan)

    assert rows.select("year", "treatments", "places", "musts").rows() == [(2027, 1, 1, 0), (2028, 3, 0, 1)]
    assert rows["takes"].to_list() == [
        "14 of 24 hours of bench, 500 of 500 EUR",  # A1 200, the place 300; 10 h and 4 h of set-up work
        "18 of 24 hours of bench, 300 of 500 EUR",  # B2 100, C1 150, D1 50; 4, 8 and 6 h
    ]


def test_each_year_in_a_sentence(plan):
    first, second = map(plan_sentences.year_sentence, plan_tables.by_year(plan).iter_rows(named=True))

    assert first == "2027: 1 treatment and 1 work on a place; 14 of 24 hours of bench, 500 of 500 EUR."
    assert second.startswith("2028: 3 treatments, 1 of them required; 18 of 24")


def test_every_limit_with_the_share_that_is_used(plan):
    rows = plan_tables.use_shares(plan)

    (money,) = rows.filter(pl.col("line") == "2028, EUR").iter_rows(named=True)
    assert (money["share"], money["figure"]) == (pytest.approx(0.6), "300 of 500")
    assert rows.height == 4


def test_what_lapses_first_is_spent_first():
    gift = [{"year": 2027, "fund": "gift", "money": 300.0, "currency": "EUR", "spend_by": date(2027, 3, 31), "carries_over": False}]  # fmt: skip
    kept = money(600.0, fund="kept", carries_over=True)
    its = bought(0, money(500.0, fund="house"), gift, kept)

    assert plan_tables.use_of_funds(its).select("fund", "used", "limit").rows() == [
        ("gift", 300.0, 300.0), ("house", 400.0, 500.0), ("kept", 0.0, 600.0)
    ]  # fmt: skip


def test_money_carried_is_there_in_the_next_year_for_what_is_left():
    its = make_plan(
        situation_of(
            years=2,
            objects=[obj("A"), obj("B")],
            options=[option("A1", "A", 400, given_worth=0.5), option("B1", "B", 400, given_worth=0.5)],
            option_hours=[("A1", "bench", 8.0), ("B1", "bench", 8.0)],
            money=[*money(500.0, fund="kept", carries_over=True), *money(0.0, 350.0, fund="house")],
            hours=hours("bench", 8, 8),
        )
    )
    rows = plan_tables.use_of_funds(its)

    assert its.lines.height == 2
    assert rows.filter(pl.col("fund") == "kept").select("year", "used", "limit").rows() == [
        (2027, 400.0, 500.0), (2028, 50.0, 100.0)
    ]  # fmt: skip


def test_budgets_by_the_best_plan_and_by_both_rules(plan):
    rows = plan_tables.budgets(frontier(plan))
    asked = {way: worth for way, worth, here in rows.select("way", "prevented", "asked").iter_rows() if here}

    assert asked == pytest.approx(
        {"best plan": 3.076069, "highest risk first": 2.453536, "best worth per cost first": 3.019440}, abs=5e-7
    )
    assert rows.filter(pl.col("times") == 0).is_empty()  # the must cannot be met without money
    best = rows.filter(pl.col("way") == "best plan").sort("money")["prevented"]
    assert best.is_sorted()


def test_by_how_much_the_plan_is_better_than_both_rules(plan):
    words = plan_sentences.better_sentence(plan)

    assert words == "This plan prevents 25 % more than highest risk first and 2 % more than best worth per cost first."
    assert dict(plan_tables.by_way(plan).iter_rows())["best plan"] == plan.prevented


def test_set_up_work_and_twice_the_years_are_said(plan):
    assert plan_sentences.setups_sentence(plan) == "Set-up work that treatments share: g in 2027."
    assert plan_sentences.setups_sentence(bought(900)) == ""
    assert plan_sentences.twice_sentence(plan).startswith("Over 12 years it prevents about 480 %")  # worth 53 in all


def test_hours_taught_by_finished_treatments():
    """Two of one kind that took 1.5 and 0.96 times their estimate of 10 hours: 1.2 times on the average."""
    done = [
        {"treatment_id": f"T{n}", "object_id": "A", "option_id": f"A{n}", "steps": ["consolidate"], "hours": hours}
        | {"finished_on": date(2025, 1, 1)}
        for n, hours in enumerate((15.0, 9.6))
    ]
    options = [option_row(f"A{n}", "A", 10.0, 0) for n in range(2)]
    rows = plan_tables.hours_taught(triaged(register(object=[{"object_id": "A"}], option=options, treatment=done)))

    assert rows.select("first_step", "finished").rows() == [("Consolidation", 2)]
    assert rows["of_estimate"][0] == pytest.approx(1.2)


def test_what_is_in_the_unit_of_the_plan_is_read_in_per_cent_of_the_collection(plan):
    read = plan_tables.in_reading_unit(plan, plan.lines)

    assert (read["worth_percent"] == plan.lines["worth"] * 100).all()
    assert "worth" not in read.columns
    assert plan_tables.in_reading_unit(plan, plan_tables.by_year(plan)).columns == list(plan_tables.BY_YEAR)


def test_what_the_next_amount_buys(made):
    triage = made()
    lacking, enough = bought(500), bought(900)
    said = plan_sentences.next_amount_sentence(triage, lacking, with_more_money(lacking, 200), 200)

    assert (
        said
        == "200 EUR more in 2027 would prevent another 50 % of the collection's value: what it pays for is A (Box)."
    )
    assert plan_sentences.next_amount_sentence(triage, enough, with_more_money(enough, 200), 200) == (
        "200 EUR more in 2027 would prevent nothing more: this plan leaves 200 EUR of that year unspent."
    )


def test_what_must_be_asked_for_is_never_rounded_down():
    assert [rounded_up(x) for x in (113.0, 113.2, 2.31, 2.3000000001, 9.99)] == ["113", "114", "2.4", "2.3", "10"]


def test_the_least_that_would_do_for_several_limits():
    why = make_plan(
        situation_of(
            objects=[obj("A")],
            options=[option("A1", "A", 170, given_worth=1.0)],
            option_hours=[("A1", "technician", 11.0)],
            musts=[must("m", of="A")],
            money=money(50),
            hours=hours("technician", 8),
        )
    )

    assert plan_sentences.together_sentence(why) == (
        "The least that would do for all that must be: 120 EUR in 2027, 3 hours of technician in 2027 more."
    )
