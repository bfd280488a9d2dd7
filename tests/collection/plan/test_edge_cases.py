"""What is odd or wrong in what a plan is made from, each case with the words of its answer."""

from datetime import date

import polars as pl
import pytest

from collection.plan.assembly import assemble
from collection.plan.eligible import ALWAYS_AWAY, IN_FORCE, NO_HOURS, NOT_RECORDED, NOTHING_LEFT, OTHER_BENEFIT
from collection.plan.parameters import planning
from collection.plan.plan import make_plan
from schemas.errors import WrongUsage
from tests.collection.plan.builders import (
    FIRST,
    hazard,
    hours,
    money,
    must,
    obj,
    option,
    place_option,
    situation_of,
)  # fmt: skip
from tests.collection.plan.tiny import tiny


def one(**more):
    """An object with one hazard and an option that slows it."""
    given = {
        "objects": [obj("A")], "hazards": [hazard("A", "h", reach=0.3, loss_depth=0.3, years=3)],
        "options": [option("A1", "A", 100)], "option_hours": [("A1", "bench", 4.0)], "effects": [("A1", "h", 0.1)],
        "money": money(500), "hours": hours("bench", 10),
    }  # fmt: skip
    return situation_of(**{**given, **more})


REFUSED = [
    ("no money for a year", {"money": money(500), "years": 2, "hours": hours("bench", 9, 9)}, "no money set for 2028", "--money 2028=0"),
    ("no hours for a year", {"money": money(5, 5), "years": 2}, "no hours of bench set for 2028", "--hours 2028:bench=0"),
    ("two currencies", {"money": money(500, currency="GBP")}, "money in EUR and GBP", "one currency"),
    ("a share above 1", {"effects": [("A1", "h", 1.5)]}, "rate_left of A1 is 1.5", "from 0 to 1"),
    ("a place's factor above 1", {"place_options": [place_option("P", "E")], "place_effects": [("P", "damp", 2.0)], "protected": [("P", "A")]},
     "rate_factor of P is 2", "from 0 to 1"),
    ("loss in doing above 1", {"options": [option("A1", "A", loss_in_doing=1.2)]}, "loss_in_doing of A1 is 1.2", "from 0 to 1"),
    ("a cost below 0", {"options": [option("A1", "A", -5)]}, "money of A1 is -5", "nothing or more"),
    ("hours below 0", {"option_hours": [("A1", "bench", -4.0)]}, "hours of A1 is -4", "nothing or more"),
    ("needs in a circle", {"options": [option("A1", "A", needs=["A2"]), option("A2", "A", needs=["A1"])]}, "in a circle: A1, A2", "Take one"),
    ("it excludes itself", {"options": [option("A1", "A", excludes=["A1"])]}, "option A1 excludes itself", "own list"),
    ("a must for nothing", {"objects": [obj("A"), obj("B")], "musts": [must("m", of="B")]}, "m asks for B, which has no option", "Record an option"),
    ("a must for no option", {"musts": [must("m", option_id="A9")]}, "m asks for option A9", "Correct the must"),
]  # fmt: skip


@pytest.mark.parametrize(("given", "what", "to_do"), [c[1:] for c in REFUSED], ids=[c[0] for c in REFUSED])
def test_the_plan_is_refused_with_what_is_wrong_and_what_to_do(given, what, to_do):
    with pytest.raises(WrongUsage) as refused:
        make_plan(one(**given))

    assert what in str(refused.value)
    assert to_do in str(refused.value)


def test_a_year_without_money_may_be_said_to_have_none():
    assert make_plan(one(money=money(500, 0), years=2, hours=hours("bench", 10, 10))).lines.height == 1


LEFT_OUT = [
    ("what it does is not recorded", {"effects": []}, NOT_RECORDED),
    ("the hazard is closed or not there", {"effects": [("A1", "gone", 0.1)]}, NOTHING_LEFT),
    ("another benefit", {"options": [option("A1", "A", 100, prevents_loss=False)]}, OTHER_BENEFIT),
    ("a decision leaves it", {"objects": [obj("A", left=True)]}, IN_FORCE),
    ("it is away all the years", {"objects": [obj("A", away=[FIRST])]}, ALWAYS_AWAY),
    ("doing costs more than it saves", {"options": [option("A1", "A", 100, loss_in_doing=0.9)]}, "costs more than it saves"),
    ("more hours than there are", {"option_hours": [("A1", "bench", 40.0)]}, "asks for more than there is in any year"),
    ("it needs one that cannot be planned", {"options": [option("A1", "A", needs=["A2"]), option("A2", "A", open=False)]},
     "needs A2, which cannot be planned"),
]  # fmt: skip


@pytest.mark.parametrize(("given", "why"), [c[1:] for c in LEFT_OUT], ids=[c[0] for c in LEFT_OUT])
def test_an_option_without_a_place_in_the_plan_is_listed_with_why(given, why):
    plan = make_plan(one(**given))

    assert plan.lines.is_empty()
    assert plan.left_out.rows() == [("A1", why)]


def test_an_option_without_hours_is_a_list_of_its_own():
    plan = make_plan(one(option_hours=[]))

    assert plan.no_hours.rows() == [("A1", NO_HOURS)]
    assert plan.left_out.is_empty()


def test_an_option_whose_effects_nobody_recorded_may_be_a_must():
    plan = make_plan(one(effects=[], musts=[must("m", of="A")]))

    assert plan.lines.select("option_id", "must").rows() == [("A1", True)]
    assert plan.lines["worth"].to_list() == [0]


@pytest.mark.parametrize("gone", [{"open": False}, {"done": True}], ids=["dropped", "done"])
def test_an_option_that_is_done_or_dropped_is_neither_planned_nor_listed(gone):
    plan = make_plan(one(options=[option("A1", "A", 100, **gone)]))

    assert plan.lines.is_empty()
    assert plan.left_out.is_empty()


def test_what_is_done_already_need_not_be_planned_again():
    """A1 needs A2, whose treatment is finished."""
    plan = make_plan(one(options=[option("A1", "A", 100, needs=["A2"]), option("A2", "A", done=True)]))

    assert plan.lines["option_id"].to_list() == ["A1"]


def test_of_more_than_three_tied_objects_the_worst_three_stay_tied_and_the_rest_is_said():
    names = "ABCDE"
    its = situation_of(
        objects=[obj(o, v) for o, v in zip(names, (5, 4, 3, 2, 1), strict=True)],
        hazards=[hazard(o, f"h{o}", reach=0.3, loss_depth=0.3, years=3) for o in names],
        options=[option(f"{o}1", o, excludes=[f"{p}1"]) for o, p in zip(names, names[1:] + "A", strict=True)],
        option_hours=[(f"{o}1", "bench", 1.0) for o in names], effects=[(f"{o}1", f"h{o}", 0.1) for o in names],
        money=money(0), hours=hours("bench", 10),
    )  # fmt: skip
    plan = make_plan(its)

    tied = "tied to more than 3 objects: plan it by hand"
    assert set(plan.left_out.filter(pl.col("why") == tied)["option_id"]) == {"D1", "E1"}
    assert plan.lines["option_id"].to_list() == ["A1", "C1"]


def test_set_up_work_of_two_places_is_done_once_and_open_for_both():
    """Two objects in two places share a set-up: it is paid once, and the bound still holds."""
    its = situation_of(
        objects=[obj("A"), obj("B")],
        hazards=[hazard(o, o.lower(), reach=0.3, loss_depth=0.3, years=3, climate="damp") for o in "AB"],
        options=[option("A1", "A", 10, setup_group="g"), option("B1", "B", 10, setup_group="g")],
        option_hours=[("A1", "bench", 1.0), ("B1", "bench", 1.0)], effects=[("A1", "a", 0.1), ("B1", "b", 0.1)],
        setups=[("g", "bench", 4.0, 0.0)],
        place_options=[place_option("P", "one", 1000), place_option("Q", "two", 1000)],
        place_effects=[("P", "damp", 0.5), ("Q", "damp", 0.5)], protected=[("P", "A"), ("Q", "B")],
        money=money(100), hours=hours("bench", 6),
    )  # fmt: skip
    plan = make_plan(its)

    assert plan.setups.rows() == [("g", FIRST)]
    assert plan.lines.height == 2
    assert plan.limits.filter(skill="bench")["used"].to_list() == [6.0]
    assert plan.bound >= plan.prevented
    assert plan.proved


def test_of_equal_worth_the_smaller_object_then_the_smaller_option_then_the_earlier_year():
    """Three alike objects, each with two alike options, worth the same in both years; hours for one a year."""
    its = situation_of(
        years=2,
        objects=[obj(o) for o in "CAB"],
        options=[option(f"{o}{k}", o, given_worth=1.0) for o in "CAB" for k in (2, 1)],
        option_hours=[(f"{o}{k}", "bench", 1.0) for o in "CAB" for k in (2, 1)],
        money=money(0, 0), hours=hours("bench", 1, 1),
    )  # fmt: skip

    assert make_plan(its).lines.select("option_id", "year").rows() == [("A1", FIRST), ("B1", FIRST + 1)]


def test_where_nothing_is_worth_doing_the_plan_is_empty_and_says_so_but_musts_are_planned():
    poor = {"options": [option("A1", "A", 100, loss_in_doing=0.9)]}
    empty, with_must = make_plan(one(**poor)), make_plan(one(**poor, musts=[must("m", of="A")]))

    assert empty.prevented == 0
    assert empty.gap == 0
    assert with_must.lines["option_id"].to_list() == ["A1"]
    assert with_must.prevented < 0


def test_a_collection_without_options_has_an_empty_plan():
    plan = make_plan(situation_of(objects=[obj("A")], money=money(100)))

    assert plan.lines.is_empty()
    assert plan.places.is_empty()


def test_an_object_that_is_away_for_a_year_is_treated_in_another():
    its = one(objects=[obj("A", away=[FIRST])], years=2, money=money(500, 500), hours=hours("bench", 10, 10))

    assert make_plan(its).lines["year"].to_list() == [FIRST + 1]


def test_a_must_by_a_day_is_met_in_a_year_that_ends_by_it():
    on_the_last_day = one(musts=[must("m", of="A", by=date(FIRST, 12, 31))])

    assert make_plan(on_the_last_day).lines["year"].to_list() == [FIRST]
    assert make_plan(one(musts=[must("m", of="A", by=date(FIRST, 12, 30))])).impossible == ("m",)


def test_money_that_has_to_be_spent_before_the_plan_begins_is_none():
    rows = [{**money(500)[0], "spend_by": date(FIRST - 1, 6, 30)}, *money(0)]

    assert make_plan(one(money=rows)).lines.is_empty()


def test_the_table_of_a_situation_without_hazards_is_worth_nothing():
    assert assemble(one(hazards=[]), planning()).loss_now.tolist() == [0.0]
    assert make_plan(tiny(hazards=[])).prevented == 0
