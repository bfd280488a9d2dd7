"""Hours against worked cases; the figures were worked out apart from this code."""

import math

import polars as pl
import pytest

from collection.plan.effort import ESTIMATES, FINISHED, learned_factor, learned_hours, mean_hours, planned_hours
from collection.plan.parameters import planning

FIGURES = planning()


def estimates(*rows):
    return pl.DataFrame(rows, schema=ESTIMATES, orient="row")


def test_mean_of_two_four_and_ten_hours():
    assert mean_hours(2, 4, 10) == pytest.approx(4.794549, abs=5e-7)


def test_five_treatments_that_took_forty_per_cent_more():
    learned = learned_factor([math.log(1.4)] * 5, FIGURES)

    assert learned.weight == pytest.approx(0.642857, abs=5e-7)
    assert math.exp(learned.weight * math.log(1.4)) == pytest.approx(1.241479, abs=5e-7)
    assert learned.factor == pytest.approx(1.429572, abs=5e-7)


def test_none_finished_changes_nothing():
    assert learned_factor([], FIGURES).factor == 1


def test_ten_treatments_bring_their_own_spread():
    """Ten that agree are surer than ten of which the starting spread is believed."""
    assert learned_factor([0.2] * 10, FIGURES).weight == 1
    assert learned_factor([0.2] * 9, FIGURES).weight < 0.8


def test_bias_is_told_by_step_with_how_many():
    finished = pl.DataFrame([("clean", 14.0, 10.0)] * 5 + [("fill", 5.0, None)], schema=FINISHED, orient="row")

    assert learned_hours(finished, FIGURES).select("first_step", "n").rows() == [("clean", 5)]
    assert learned_hours(finished, FIGURES)["times"].to_list() == pytest.approx([1.4])


def test_tests_are_added_and_documentation_once():
    learned = learned_hours(pl.DataFrame([("clean", 14.0, 10.0)] * 5, schema=FINISHED, orient="row"), FIGURES)
    planned = planned_hours(
        estimates(
            ("a", "clean", 2.0, 4.0, 10.0, 1.0), ("b", "fill", None, 4.0, None, None), ("c", "x", None, None, None, 2.0)
        ),
        learned,
        FIGURES,
    )

    hours = 4.794549 * 1.429572 + 1
    assert planned["hours"].to_list()[:2] == pytest.approx([hours * 1.15, 4 * 1.15], abs=1e-5)
    assert planned["documentation_hours"][0] == pytest.approx(hours * 0.15, abs=1e-5)
    assert planned["one_figure"].to_list() == [False, True, False]
    assert planned["hours"][2] is None
