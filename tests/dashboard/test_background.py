"""Work in a thread: steps come one by one, it can be stopped, and what is wrong with what was asked is kept as words."""

import threading

import pytest

from collection.plan.stopping import asked_to_stop
from dashboard.background import Task
from schemas.errors import WrongUsage

# The fault of one test is told by its thread, which may end within the next test.
pytestmark = pytest.mark.filterwarnings("ignore::pytest.PytestUnhandledThreadExceptionWarning")
LONG = 30  # seconds that no test waits


def test_results_come_one_by_one_and_the_words_tell_how_far_it_is():
    go = threading.Event()

    def steps(task):
        yield "first", 1
        task.words = "half way"
        assert go.wait(LONG)
        yield "second", 2

    task = Task(steps)
    while "first" not in task.results or not task.words:
        assert not task.done
    assert task.words == "half way"
    go.set()

    assert task.wait(LONG)
    assert task.results == {"first": 1, "second": 2}
    assert (task.error, task.failed, task.stopping) == (None, False, False)


def test_it_can_be_stopped_and_what_it_has_stays():
    reached = threading.Event()

    def steps(task):
        yield "first", 1
        reached.set()
        while not asked_to_stop():
            threading.Event().wait(0.01)
        yield "second", 2
        yield "third", 3

    task = Task(steps)
    assert reached.wait(LONG)
    task.stop()

    assert task.wait(LONG)
    assert task.stopping
    assert task.results == {"first": 1, "second": 2}


def test_what_is_wrong_with_what_was_asked_is_kept():
    def steps(task):
        yield "first", 1
        raise WrongUsage("plan", "no money set for 2028", "", "Set it.")

    task = Task(steps)
    assert task.wait(LONG)

    assert task.error.what == "no money set for 2028"
    assert not task.failed


def test_a_fault_of_ours_is_no_answer():
    def steps(task):
        yield "first", 1
        raise ZeroDivisionError

    task = Task(steps)
    assert task.wait(LONG)

    assert task.failed
    assert task.error is None


def test_one_at_a_time():
    inside, most, lock = [], [], threading.Lock()

    def steps(task):
        with lock:
            inside.append(task)
            most.append(len(inside))
        threading.Event().wait(0.05)
        with lock:
            inside.remove(task)
        yield "done", True

    tasks = [Task(steps) for _ in range(3)]

    assert all(task.wait(LONG) for task in tasks)
    assert max(most) == 1
