"""Work waiting, against worked cases; the figures were worked out apart from this code."""

import numpy as np
import polars as pl
import pytest

from collection.plan.backlog import SOURCES, inflow, inflow_draws, shrinks, waiting
from collection.plan.parameters import planning


def sources(shape=None, per=None):
    return pl.DataFrame([(500.0, 0.01, shape, per), (640.0, 0.02, None, None)], schema=SOURCES, orient="row")


def test_jobs_and_hours_that_come_in_a_year():
    its = inflow(sources(), 6, 4)

    assert (its.jobs, its.hours, its.sd) == pytest.approx((17.8, 106.8, 30.4237), abs=5e-5)
    assert inflow(sources(5.0, 500.0), 6, 4).sd == pytest.approx(33.2506, abs=5e-5)


def test_the_draws_have_that_mean_and_spread():
    drawn = inflow_draws(sources(5.0, 500.0), 6, 4, 200, planning())

    assert drawn.mean() == pytest.approx(106.8, rel=0.02)
    assert drawn.std() == pytest.approx(33.2506, rel=0.05)


def test_what_waits_never_falls_below_none():
    its = waiting(100.0, np.full((3, 4), 10.0), 50.0)

    assert its["mean"].to_list() == [100, 60, 20, 0, 0]
    assert its["year"].to_list() == [0, 1, 2, 3, 4]


def test_it_starts_to_shrink_in_the_first_year_whose_inflow_is_below_what_is_done():
    coming = np.array([[60.0, 40.0], [60.0, 55.0]])

    assert shrinks(coming, 50.0).year == 2
    assert shrinks(coming, 50.0).agree == 0.5
    assert shrinks(coming, 40.0).year is None
