"""Other budgets and other judgements: what is prevented never falls with the money, and never below either rule."""

import subprocess
import sys
from pathlib import Path

import pytest

from collection.plan.otherwise import frontier, judged_otherwise, more_of_each
from collection.plan.parameters import planning, trials
from collection.plan.plan import make_plan
from tests.collection.plan.test_laws import collection_of
from tests.collection.plan.tiny import tiny

ROOT = Path(__file__).parents[3]
FIGURES = planning()


def test_the_tiny_plans_frontier_at_its_budgets():
    """Worked apart from this code: 250, 500 and 1,000 a year; below 50 a year the must cannot be met."""
    rows = {times: (money, prevented) for times, money, prevented, *_ in frontier(make_plan(tiny())).iter_rows()}

    assert list(rows) == list(trials().budgets)
    assert rows[0] == (0, None)
    assert rows[0.5] == (500, pytest.approx(2.173012, abs=5e-7))
    assert rows[1] == (1000, pytest.approx(3.076069, abs=5e-7))
    assert rows[2][1] >= 3.207871 - 5e-7


@pytest.mark.parametrize("hours_too", [False, True])
@pytest.mark.parametrize("seed", [3, 17, 40])
def test_it_never_falls_and_is_never_below_either_rule(seed, hours_too):
    plan = make_plan(collection_of(seed, amount=120))
    rows = frontier(plan, hours_too=hours_too)
    known = rows["prevented"].drop_nulls().to_list()

    assert known == sorted(known)
    assert all(b >= p for p, b in rows.select("prevented", "bound").drop_nulls().iter_rows())
    assert rows.filter(times=1.0)["prevented"].item() == pytest.approx(plan.prevented, rel=1e-9) or not plan.proved
    for amount in (40, 120, 240):
        its = make_plan(collection_of(seed, amount=amount))
        assert all(p is None or its.prevented >= p for p in its.rules["prevented"])


def test_a_little_more_is_solved_again_and_never_less():
    rows = more_of_each(make_plan(tiny()))

    assert rows["gain"].min() >= 0
    assert rows.filter(skill="bench")["amount"].to_list() == pytest.approx([0.48, 2.4, 4.8])


def test_other_judgements_name_who_comes_and_who_goes():
    rows = judged_otherwise(make_plan(tiny(250)), {"row": ["row"]})

    assert rows["if_judged"].to_list() == [
        "2 times the years ahead", "all years 3 times longer", "all years 3 times shorter", "rates of row 3 times higher",
    ]  # fmt: skip
    assert rows["prevented"].null_count() == 0


SCRIPT = """
import json, os, sys
os.sched_setaffinity(0, {min(os.sched_getaffinity(0))} if sys.argv[1] == "one" else os.sched_getaffinity(0))
from collection.plan.parameters import planning
from collection.plan.plan import make_plan
from tests.collection.plan.test_laws import collection_of
few = planning().model_copy(update={"exact_up_to": 1, "both_up_to": int(sys.argv[2])})
plans = [make_plan(collection_of(seed, objects=12, amount=200), figures=few) for seed in (1, 2)]
print(json.dumps([[repr(p.prevented), repr(p.bound), p.lines.write_json(), p.places.write_json(), p.limits.write_json()]
                  for p in plans]))
"""


@pytest.mark.parametrize("both_up_to", [1, 1000], ids=["by prices", "both ways"])
def test_the_same_input_gives_the_same_plan_byte_for_byte_on_one_core_or_all(both_up_to):
    def run(cores):
        command = [sys.executable, "-c", SCRIPT, cores, str(both_up_to)]
        return subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True).stdout

    assert run("one") == run("all") == run("all")


def test_a_plan_that_the_clock_ended_says_after_how_long_and_its_bound_holds():
    hasty = FIGURES.model_copy(update={"exact_up_to": 1, "both_up_to": 1, "gap": 1e-12})
    plan = make_plan(collection_of(5, objects=12, amount=200), figures=hasty, seconds=1e-6)
    whole = make_plan(collection_of(5, objects=12, amount=200))

    assert plan.stopped is not None
    assert not plan.proved
    assert plan.bound >= whole.prevented
    assert whole.stopped is None
