"""Grades over a span in words and as figures: the six objects of the worked case, and why the model says nothing."""

from datetime import date

import pytest

from collection.questions.estimate import estimate, refused
from collection.questions.grades_over_time import (
    ahead_sentence,
    both_grades,
    examiner_estimates,
    examiners,
    grade_moves,
    grades_ahead,
)
from collection.questions.over_time import (
    apart_sentence,
    estimates_of,
    first_sentence,
    over_time,
    overstated,
    raw_sentence,
    span_sentence,
)  # fmt: skip
from collection.questions.triage import Triage
from tests.collection.risk.builders import check, register, triaged
from tests.collection.trends.test_grades import SIX

DAY, FROM, TO = date(2021, 6, 1), date(2016, 3, 1), date(2021, 3, 1)
TREATMENT = {"treatment_id": "T1", "object_id": "c", "started_on": date(2019, 6, 1), "finished_on": date(2019, 6, 1)}


@pytest.fixture(scope="module")
def six() -> Triage:
    checks = [
        check(f"{o}{y}", o, f"{y}-03-01", grade=g, examiner=e) | ({"look": "sweep"} if (o, y) == ("e", 2016) else {})
        for o, y, g, e in SIX
    ]
    objects = [{"object_id": o} for o in "abcdef"]
    return triaged(register(object=objects, condition_check=checks, treatment=[TREATMENT]), DAY)


def test_the_answer_in_a_sentence(six):
    """Graded in both 2016 and 2021: a, b, c, d; a and d worse, c (treated) better, b the same."""
    its = over_time(six, six.objects, FROM, TO)

    assert first_sentence(its) == (
        "Of the 4 objects graded in both, 2 are graded worse and 1 better; how much of that is who looked cannot be said:"
        " 15 grades, 800 are needed."
    )
    assert span_sentence(its).endswith("(grades within 365 days of either day); 1 of them was treated between.")


def test_worse_per_100_object_years_as_written(six):
    its = over_time(six, six.objects, FROM, TO)

    assert raw_sentence(its) == (
        "As recorded, 4 of 8 pairs of comparable checks are worse, and 1 better without a treatment, which is"
        " disagreement: 17 worse per 100 object-years (4.7 to 45)."
    )
    assert apart_sentence(its) == "Not counted in these pairs: 1 looked closer, 1 treated."
    assert overstated(its) is None


def test_matched_beside_all(six):
    rows = both_grades(over_time(six, six.objects, FROM, TO))

    assert rows["matched_then"].to_list() == [2, 2, 0, 0]
    assert rows["matched_now"].to_list() == [2, 1, 1, 0]
    assert rows["all_then"].to_list() == [2, 2, 0, 0]
    assert rows["all_now"].to_list() == [2, 2, 2, 0]


def test_every_cell_of_the_transitions_with_its_row(six):
    rows = grade_moves(over_time(six, six.objects, FROM, TO))

    assert rows.height == 16
    assert rows.filter(objects=1).select("grade_then", "grade_now", "of", "direction").rows() == [
        ("Good", "Good", 2, "the same"), ("Good", "Fair", 2, "worse"),
        ("Fair", "Good", 2, "better"), ("Fair", "Poor", 2, "worse"),
    ]  # fmt: skip


def test_estimates_say_their_limits_or_why_not(six):
    its = over_time(six, six.objects, FROM, TO)
    figures = estimates_of(its)

    raw = figures["worse_per_100_object_years"]
    assert (raw["value"], raw["low"], raw["high"], raw["n"]) == pytest.approx(
        (17.392857, 4.738968, 44.532622, 4), rel=1e-6
    )
    assert raw["method"].startswith("exact limits")
    assert figures["a_grade_worse_within"]["refused"] == "15 grades, 800 are needed"
    assert examiners(its).is_empty()
    assert examiner_estimates(its)[0]["strictness"]["refused"] == "15 grades, 800 are needed"


def test_without_days_and_rounds_it_is_from_the_first_grade_to_the_day(six):
    its = over_time(six, six.objects)

    assert (its.start, its.end) == (FROM, DAY)


def test_nobody_graded_anything():
    its = over_time(bare := triaged(register(object=[{"object_id": "a"}]), DAY), bare.objects)

    assert first_sentence(its) == "No object was graded about 1 June 2021 and again about 1 June 2021."
    assert raw_sentence(its) == "Grades between two checks: nobody looked twice."
    assert estimates_of(its)["worse_per_100_object_years"]["refused"] == "nobody looked twice"


def test_estimates_have_one_shape():
    keys = ["value", "low", "high", "n", "method", "refused"]

    assert list(estimate(1.0, float("nan"), None, 3, "m")) == list(refused("why")) == keys
    assert estimate(1.0, float("inf"), 0.5, 3, "m")["low"] is None


def test_no_grades_ahead_where_the_decline_is_not_known(six):
    its = over_time(six, six.objects, FROM, TO)

    assert grades_ahead(its).is_empty()
    assert ahead_sentence(its).endswith("cannot be said: 15 grades, 800 are needed.")
