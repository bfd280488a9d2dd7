"""A search that is ended from outside answers at once with what is best so far, and musts are met all the same."""

from threading import Event

import pytest

from collection.plan.musts import MustsNotMet
from collection.plan.otherwise import frontier, more_of_each
from collection.plan.parameters import planning
from collection.plan.plan import Plan, make_plan
from collection.plan.stopping import asked_to_stop, stoppable
from tests.collection.plan.test_tiny_plan import clashing
from tests.collection.plan.tiny import tiny


@pytest.fixture
def stopped():
    stop = Event()
    stop.set()
    with stoppable(stop):
        yield stop
    assert not asked_to_stop()


def test_what_is_best_so_far_is_the_answer_and_says_that_it_was_stopped(stopped):
    plan = make_plan(tiny())

    assert isinstance(plan, Plan)
    assert plan.stopped is not None
    assert plan.prevented == pytest.approx(3.019440, abs=5e-7)  # the better rule of thumb
    assert plan.bound >= 3.076069
    assert plan.lines.filter("must")["option_id"].to_list() == ["D1"]


def test_musts_that_clash_are_named_even_then(stopped):
    assert isinstance(make_plan(clashing()), MustsNotMet)


def test_both_ways_through_the_table_can_be_stopped(stopped):
    for figures in ({"exact_up_to": 1}, {"exact_up_to": 1, "both_up_to": 1}):
        plan = make_plan(tiny(), figures=planning().model_copy(update=figures))

        assert plan.prevented >= 3.019440
        assert plan.bound >= 3.076069
        assert plan.stopped is not None


def test_other_budgets_are_left_out_then():
    plan = make_plan(tiny())
    stop = Event()
    stop.set()
    with stoppable(stop):
        assert frontier(plan).is_empty()
        assert more_of_each(plan).is_empty()


def test_without_anybody_to_stop_it_comes_to_its_end():
    with stoppable(Event()):
        assert make_plan(tiny()).proved
