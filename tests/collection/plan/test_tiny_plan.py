"""The tiny plan against figures worked out apart from this code, through the functions that plan."""

import random
from datetime import date

import polars as pl
import pytest

from collection.plan.assembly import assemble
from collection.plan.choose import relaxation
from collection.plan.musts import MustsNotMet, least_meeting
from collection.plan.parameters import planning
from collection.plan.plan import make_plan
from collection.plan.rules_of_thumb import BEST_PER_COST, HIGHEST_RISK
from collection.questions.plan_sentences import together_sentence
from tests.collection.plan.brute_force import every_plan, feasible_worths
from tests.collection.plan.builders import hours, money, must, obj, option, situation_of
from tests.collection.plan.tiny import tiny

FIGURES = planning()


def lines_of(plan):
    return {(option_id, year - 2026) for option_id, year in plan.lines.select("option_id", "year").iter_rows()}


def test_what_is_expected_to_be_lost_with_nothing_done():
    assert assemble(tiny(), FIGURES).loss_now.tolist() == pytest.approx(
        [1.353565, 2.866071, 0.362538, 0.149628], abs=5e-7
    )


@pytest.mark.parametrize(
    ("jobs", "place", "worth"),
    [({"A1": 1}, 0, 1.054539), ({"B2": 2}, 1, 1.708742), ({"": 0}, 1, 1.279910), ({"B1": 1}, 0, 1.804488)],
)
def test_some_worths(jobs, place, worth):
    """Nothing is for B, whose place is bettered in year 1."""
    program = assemble(tiny(), FIGURES)
    names = program.situation.options["option_id"].to_list()
    ((name, year),) = jobs.items()
    if name:
        row = next(
            c
            for c in range(len(program.options))
            if program.options[c, 0] == names.index(name) and program.years[c, 0] == year
        )
    else:
        row = program.starts[program.blocks.index(("B",))]
    place_of = program.places_of(program.starts[:1] * 0 + row)[0]

    assert program.worth_at(program.starts[:1] * 0 + row, program.starts[:1] * 0 + (place if place_of else 0))[
        0
    ] / program.scale == pytest.approx(worth, abs=5e-7)


def test_the_best_plan_is_the_best_of_all_plans():
    program = assemble(tiny(), FIGURES)
    worths = feasible_worths(program)
    plan = make_plan(tiny())

    assert len(list(every_plan(program))) == 270
    assert len(worths) == 120
    assert worths[:2] == pytest.approx([3.076069261, 3.019440432], abs=5e-10)
    assert plan.prevented == pytest.approx(3.076069261, abs=5e-10)
    assert lines_of(plan) == {("A1", 1), ("B2", 2), ("C1", 2), ("D1", 2)}
    assert plan.places.select("option_id", "year").rows() == [("P", 2027)]
    assert plan.setups.rows() == [("g", 2027)]
    assert plan.proved
    assert plan.stopped is None


def test_what_could_be_prevented_if_choices_need_not_be_whole():
    assert relaxation(assemble(tiny(), FIGURES), 60) == pytest.approx(3.168079, abs=5e-7)


def test_both_rules_of_thumb():
    assert dict(make_plan(tiny()).rules.iter_rows()) == pytest.approx(
        {HIGHEST_RISK: 2.453536, BEST_PER_COST: 3.019440}, abs=5e-7
    )


@pytest.mark.parametrize(
    ("amount", "prevented"), [(100, 1.057194), (250, 2.173012), (400, 2.920030), (600, 3.176721), (800, 3.207871)]
)
def test_other_money_a_year(amount, prevented):
    assert make_plan(tiny(amount)).prevented == pytest.approx(prevented, abs=5e-7)


def test_without_money_the_must_cannot_be_met_and_fifty_more_in_one_year_would_do():
    why = make_plan(tiny(0))

    assert isinstance(why, MustsNotMet)
    assert why.extras.rows() == [(None, 2027, 50.0), (None, 2028, 50.0)]
    assert why.conflict == ("m",)
    assert why.least_cost is None


def test_the_same_rows_in_any_order_give_the_same_plan():
    plan = make_plan(tiny())
    for seed in range(3):
        other = make_plan(tiny(shuffled=lambda rows, s=seed: random.Random(s).sample(rows, len(rows))))

        assert other.lines.equals(plan.lines)
        assert other.limits.equals(plan.limits)
        assert other.prevented == plan.prevented


def clashing(**other):
    """Three musts of 6, 5 and 2 hours in one year of 8."""
    jobs = (("A", 6.0), ("B", 5.0), ("C", 2.0))
    return situation_of(
        objects=[obj(o) for o, _ in jobs],
        options=[option(f"{o}1", o, given_worth=1.0) for o, _ in jobs],
        option_hours=[(f"{o}1", "bench", h) for o, h in jobs],
        musts=[must(o, of=o) for o, _ in jobs],
        money=money(0),
        hours=hours("bench", 8),
        **other,
    )


def test_musts_that_clash_are_named_with_what_would_do():
    why = make_plan(clashing())

    assert why.extras.rows() == [("bench", 2027, 5.0)]
    assert why.conflict == ("A", "B")
    assert why.conflict_extras.rows() == [("bench", 2027, 3.0)]


def test_hours_with_a_price_give_the_least_money_that_would_do():
    why = make_plan(clashing(hour_price=40.0))

    assert why.least_cost == pytest.approx(200)
    assert together_sentence(why).endswith("; with hours at their price, the least of all is 200 EUR.")


def test_a_must_that_no_option_can_meet_by_its_day_is_named():
    its = situation_of(
        objects=[obj("A")], options=[option("A1", "A", given_worth=1.0)], option_hours=[("A1", "bench", 1.0)],
        musts=[must("too soon", of="A", by=date(2027, 6, 1))], money=money(0), hours=hours("bench", 8),
    )  # fmt: skip

    assert make_plan(its).impossible == ("too soon",)


def short_of_both(**other):
    """Two musts of 6 and 5 hours and 30 and 40 of money in one year of 8 hours and 50 of money."""
    jobs = (("A", 6.0, 30), ("B", 5.0, 40))
    return situation_of(
        objects=[obj(o) for o, *_ in jobs],
        options=[option(f"{o}1", o, m, given_worth=1.0) for o, _, m in jobs],
        option_hours=[(f"{o}1", "bench", h) for o, h, _ in jobs],
        musts=[must(o, of=o) for o, *_ in jobs],
        money=money(50),
        hours=hours("bench", 8),
        **other,
    )


def test_where_more_of_one_limit_does_not_do_more_of_several_at_once_is_named():
    why = make_plan(short_of_both())

    assert why.extras.is_empty()
    assert why.together.rows() == [(None, 2027, 20.0), ("bench", 2027, 3.0)]


def test_what_musts_take_stands_beside_what_there_is():
    its = least_meeting(assemble(short_of_both(), FIGURES), FIGURES).needs
    enough = least_meeting(assemble(tiny(), FIGURES), FIGURES).needs

    assert its.rows() == [(None, 2027, 70.0, 50.0, 20.0), ("bench", 2027, 11.0, 8.0, 3.0)]
    assert enough.filter(pl.col("needed") > 0).select("skill", "needed", "lacking").rows() == [
        (None, 50.0, 0.0), ("bench", 6.0, 0.0)
    ]  # fmt: skip
