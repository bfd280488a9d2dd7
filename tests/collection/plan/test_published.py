"""Published instances of choosing under limits, their items entered as objects with given worths, through the plan.

Sources are named beside each; where only the answer was read and the data are from memory, both were worked out again by
brute force apart from this code.
"""

import numpy as np
import pytest

from collection.plan.assembly import assemble
from collection.plan.choose import everything, relaxation
from collection.plan.cuts import Planes, Search, lower
from collection.plan.parameters import planning
from collection.plan.plan import make_plan
from collection.plan.rules_of_thumb import BEST_PER_COST
from tests.collection.plan.builders import FIRST, hazard, money, obj, option, place_option, situation_of

# OR-Tools guide, the knapsack solver's example; some items cost nothing.
VALUES = [
    360, 83, 59, 130, 431, 67, 230, 52, 93, 125, 670, 892, 600, 38, 48, 147, 78, 256, 63, 17, 120, 164, 432, 35, 92,
    110, 22, 42, 50, 323, 514, 28, 87, 73, 78, 15, 26, 78, 210, 36, 85, 189, 274, 43, 33, 10, 19, 389, 276, 312,
]  # fmt: skip
WEIGHTS = [
    7, 0, 30, 22, 80, 94, 11, 81, 70, 64, 59, 18, 0, 36, 3, 8, 15, 42, 9, 0, 42, 47, 52, 32, 26, 48, 55, 6, 29, 84, 2,
    4, 18, 56, 7, 29, 93, 44, 71, 3, 86, 66, 31, 65, 0, 79, 20, 65, 52, 13,
]  # fmt: skip


def items(values, weights, *limits):
    """Items as objects with one option each: its weight is money, of any year."""
    numbers = [f"{n + 1:02}" for n in range(len(values))]
    return situation_of(
        years=len(limits),
        objects=[obj(n) for n in numbers],
        options=[option(n, n, w, given_worth=float(v)) for n, v, w in zip(numbers, values, weights, strict=True)],
        option_hours=[(n, "any", 0.0) for n in numbers],
        money=money(*limits),
    )


def with_hours(values, *rows_and_limits):
    """Items that use several limits of one year: each is the hours of a skill."""
    numbers = [f"{n + 1}" for n in range(len(values))]
    used = [
        (n, f"skill {k:02}", float(a))
        for k, (row, _) in enumerate(rows_and_limits)
        for n, a in zip(numbers, row, strict=True)
    ]
    return situation_of(
        objects=[obj(n) for n in numbers],
        options=[option(n, n, given_worth=float(v)) for n, v in zip(numbers, values, strict=True)],
        option_hours=used,
        money=money(0),
        hours=[(FIRST, f"skill {k:02}", float(limit)) for k, (_, limit) in enumerate(rows_and_limits)],
    )


def chosen(plan):
    return [int(o) for o in sorted(plan.lines["option_id"])]


SEVEN = items([70, 20, 39, 37, 7, 5, 10], [31, 10, 20, 19, 4, 3, 6], 50)
EIGHT = items([15, 100, 90, 60, 40, 15, 10, 1], [2, 20, 20, 30, 40, 30, 60, 10], 102)
PETERSEN = with_hours(
    [100, 600, 1200, 2400, 500, 2000],
    ([8, 12, 13, 64, 22, 41], 80), ([8, 12, 13, 75, 22, 41], 96), ([3, 6, 4, 18, 6, 4], 20), ([5, 10, 8, 32, 6, 12], 36),
    ([5, 13, 8, 42, 6, 20], 44), ([5, 13, 8, 48, 6, 20], 48), ([0, 0, 0, 0, 8, 0], 10), ([3, 0, 4, 0, 8, 0], 18),
    ([3, 2, 4, 0, 8, 4], 22), ([3, 2, 4, 8, 8, 4], 24),
)  # fmt: skip
LORIE_SAVAGE = with_hours(
    [14, 17, 17, 15, 40, 12, 14, 10, 12],
    ([12, 54, 6, 6, 30, 6, 48, 36, 18], 50), ([3, 7, 6, 2, 35, 6, 4, 3, 3], 20),
)  # fmt: skip


@pytest.mark.parametrize(
    ("its", "best", "which"),
    [
        pytest.param(SEVEN, 107, [1, 4], id="7 items, Martello & Toth; documentation of the R package adagio"),
        pytest.param(EIGHT, 280, [1, 2, 3, 4, 6], id="8 items, the same"),
        pytest.param(PETERSEN, 3800, [2, 3, 6], id="Petersen, Management Science 13 (1967); OR-Library mknap1 no. 1"),
        pytest.param(LORIE_SAVAGE, 70, [1, 3, 4, 6, 9], id="Lorie & Savage, as used by Weingartner 1963"),
    ],
)
def test_published_best(its, best, which):
    plan = make_plan(its)

    assert plan.prevented == pytest.approx(best)
    assert chosen(plan) == which
    assert plan.proved


def test_seven_items_by_ratio_are_worth_less():
    assert dict(make_plan(SEVEN).rules.iter_rows())[BEST_PER_COST] == pytest.approx(102)


def test_two_years_each_item_once():
    """Martello & Toth; documentation of the R package adagio. Two plans are best."""
    plan = make_plan(items([78, 35, 89, 36, 94, 75, 74, 79, 80, 16], [18, 9, 23, 20, 59, 61, 70, 75, 76, 30], 103, 156))

    assert plan.prevented == pytest.approx(452)
    assert plan.lines["option_id"].n_unique() == plan.lines.height


def test_fifty_items_of_which_some_cost_nothing():
    """OR-Tools guide."""
    plan = make_plan(items(VALUES, WEIGHTS, 850))

    assert plan.prevented == pytest.approx(7534)
    assert plan.lines["money"].sum() == pytest.approx(850)


def test_prices_and_relaxation_of_nine_projects():
    """Lorie & Savage (Weingartner 1963): 70.272727, prices .136364 and 1.863636."""
    plan = make_plan(LORIE_SAVAGE)
    program = plan.basis.program
    none = np.zeros(program.limits.amount.size)
    root = lower(Planes(program), everything(program).states, none, Search(1e-9, 200, np.inf), lambda _: False)

    assert relaxation(program, 60) == pytest.approx(70.272727, abs=5e-7)
    assert root.value / program.scale == pytest.approx(70.272727, abs=5e-6)
    assert plan.limits.drop_nulls("skill")["price"].to_list() == pytest.approx([0.136364, 1.863636], abs=5e-6)


def test_either_and_only_if():
    """Hillier & Lieberman: 9x1 + 5x2 + 6x3 + 4x4; 6 3 5 2 within 10; not both x3 and x4; x3 only with x1, x4 with x2."""
    worth, cost, numbers = [9, 5, 6, 4], [6, 3, 5, 2], ["1", "2", "3", "4"]
    other = {"1": {}, "2": {}, "3": {"excludes": ["4"], "needs": ["1"]}, "4": {"needs": ["2"]}}
    its = situation_of(
        objects=[obj("o")],
        options=[
            option(n, "o", c, given_worth=float(w), together_with=numbers, **other[n])
            for n, w, c in zip(numbers, worth, cost, strict=True)
        ],
        option_hours=[(n, "any", 0.0) for n in numbers],
        money=money(10),
    )
    plan = make_plan(its)

    assert plan.prevented == pytest.approx(14)
    assert chosen(plan) == [1, 2]


def test_worth_per_money_of_a_place_option():
    """Cost-effectiveness of Michalski & Pedersoli, CCI/ICCROM 2016, constructed: a loss of 10^-2.5 a year brought down
    to 10^-4.5, 2,000 once and 100 a year, over 20 years: 1.5653e-5 of the value a year and unit of money a year.

    One event is so small a share here that events repeating do not bend the sum.
    """
    rate, small = 10**-2.5, 1e-6
    its = situation_of(
        years=10, horizon=20,
        objects=[obj("o")],
        hazards=[hazard("o", "h", reach=1.0, loss_depth=small, years=small / rate, climate="damp")],
        place_options=[place_option("p", "store", 2000, yearly_cost=100)],
        place_effects=[("p", "damp", 10**-4.5 / rate)],
        protected=[("p", "o")],
        money=money(*[10_000] * 10),
    )  # fmt: skip
    program = assemble(its, planning())
    first = next(n for n, s in enumerate(program.places[1].states) if s and s[0][1] == 1)
    kept = -np.log1p(-(program.loss_now[0] - program.worth[1][first, 0] / program.scale))
    lost = -np.log1p(-program.loss_now[0])
    a_year = (lost - kept) / 19.5

    assert a_year / (2000 / 20 + 100) == pytest.approx(1.5653e-5, rel=1e-4)
