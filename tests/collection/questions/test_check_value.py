"""What a check is worth: the closed form against a plain sum over the sizes of a loss; the round on a small museum."""

from types import SimpleNamespace

import numpy as np
import polars as pl
import pytest

from collection.questions.check_value import (
    CHECK_VALUE,
    Job,
    round_of_checks,
    round_sentence,
    usual_job,
    worth_of_checks,
)
from tests.collection.planning.museum import house

LIMITS = (0.001, 0.26)
FINE = 400_001  # points of the sum


def summed(value, job, a):
    """E[max(0, value x years x y - price)] over y with density in proportion to y^(-a - 1) between the limits."""
    y = np.geomspace(*LIMITS, FINE)
    density = y ** (-a - 1)
    gain = np.maximum(0.0, value * job.years_prevented * y - job.price)
    return np.trapezoid(gain * density, y) / np.trapezoid(density, y)


@pytest.mark.parametrize("a", [0.6, 1.0, 1.8])
@pytest.mark.parametrize(("value", "price"), [(0.01, 0.0), (0.01, 1e-4), (0.01, 2e-3), (0.0, 1e-4), (0.01, 1.0)])
def test_the_closed_form_is_the_sum_over_sizes(a, value, price):
    job = Job(years_prevented=3.0, hour_worth=0.0, price=price)
    learned = SimpleNamespace(size_index=a)
    worth = worth_of_checks(np.array([0.2]), np.array([value]), learned, job, LIMITS)

    assert worth[0] == pytest.approx(0.2 * summed(value, job, a), rel=1e-4, abs=1e-12)


def test_it_is_worth_more_the_likelier_and_the_dearer_the_object():
    job, learned = Job(3.0, 0.0, 1e-4), SimpleNamespace(size_index=0.9)
    worth = worth_of_checks(np.array([0.1, 0.2, 0.2]), np.array([0.01, 0.01, 0.02]), learned, job, LIMITS)

    assert worth[0] < worth[1] < worth[2]
    assert worth[1] == pytest.approx(2 * worth[0])


def test_the_usual_job_of_a_museum():
    """A, B gain the same share of equal values; A takes 11.5 h, B 23: both fit into 60 h a year, so B is the last."""
    job = usual_job(house())
    program_worth = job.hour_worth * 23.0

    assert 0 < job.years_prevented < 10
    assert job.price == pytest.approx(job.hour_worth * (11.5 + 23.0) / 2)
    assert usual_job(house(hours=12.0)).hour_worth == pytest.approx(program_worth / 11.5)


def test_without_hours_there_is_no_price():
    assert usual_job(house(hours=0.0)) is None


def values(*worth):
    rows = [(f"O{n}", "Bowl", "Shelf", "Kind", 0.1, w, 0.5) for n, w in enumerate(worth)]
    return pl.DataFrame(rows, schema=CHECK_VALUE, orient="row")


def test_the_round_ends_with_the_hours_and_leaves_out_what_is_not_worth_its_time():
    all_of_them = values(3.0, 2.0, 1.0, -1.0)

    assert round_of_checks(all_of_them, 1.0)["object_id"].to_list() == ["O0", "O1"]
    assert round_of_checks(all_of_them, 9.0)["object_id"].to_list() == ["O0", "O1", "O2"]


def test_the_round_is_said():
    all_of_them = values(3.0, 2.0, 1.0, -1.0)

    assert round_sentence(round_of_checks(all_of_them, 1.0), all_of_them, 1.0) == (
        "In 1 hour check these 2 objects first, of 4 not yet checked: expect about 0.2 of them above the museum's limit."
    )
    assert "no check here is worth its time" in round_sentence(values(), values(), 20.0)
