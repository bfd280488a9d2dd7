"""Worth of a choice against worked cases; the figures were worked out apart from this code."""

import numpy as np
import pytest

from collection.plan.exposure import Jobs, PlaceStates
from collection.plan.hazard_table import hazard_table
from collection.plan.parameters import planning
from collection.plan.worth import losses
from tests.collection.plan.builders import hazard, obj, option, place_option, situation_of

NO_PLACE = PlaceStates(np.array([[-1]]), np.array([[0]]))


def gable(years=(3.0, 3.0, 3.0)):
    return situation_of(
        years=5,
        horizon=10,
        objects=[obj("gable")],
        hazards=[hazard("gable", "h", part_share=0.1, reach=0.3, loss_depth=1.0, years=years, climate="damp")],
        options=[option("o", "gable")],
        effects=[("o", "h", 0.1)],
        place_options=[place_option("p", "case")],
        place_effects=[("p", "damp", 0.4)],
        protected=[("p", "gable")],
    )


def worth_of(its, year, place_year, horizon=10.0):
    """Worth of treating in one year (0: never), with the place in another."""
    table = hazard_table(its, planning())
    jobs = Jobs(np.array([0, 0]), np.array([[-1], [0 if year else -1]]), np.array([[0], [year]]))
    states = PlaceStates(np.array([[-1], [0 if place_year else -1]]), np.array([[0], [place_year]]))
    lost = losses(table, jobs, states, horizon)
    return lost[0, 0] - lost[1, 1]


@pytest.mark.parametrize(
    ("year", "place_year", "worth"),
    [
        (1, 0, 0.017431507), (3, 0, 0.009083743), (5, 0, 0.004502393), (0, 1, 0.006085157), (1, 1, 0.021302985),
        (3, 1, 0.016529167),
    ],
)  # fmt: skip
def test_the_gable_treated_and_its_place_bettered(year, place_year, worth):
    assert worth_of(gable(), year, place_year) == pytest.approx(worth, abs=6e-10)


def test_expected_events_with_the_place_first_and_the_treatment_later():
    """(0.5 + 2 x .4 + 7.5 x .1 x .4) / 3 = 0.533333, from what is lost."""
    its = gable()
    jobs, states = Jobs(np.array([0]), np.array([[0]]), np.array([[3]])), PlaceStates(np.array([[0]]), np.array([[1]]))
    lost = losses(hazard_table(its, planning()), jobs, states, 10.0)[0, 0]

    assert -np.log(1 - lost / (0.1 * 0.3)) == pytest.approx(0.533333, abs=5e-7)


def test_treatment_and_place_together_are_not_their_sum():
    both = worth_of(gable(), 1, 1)

    assert both < worth_of(gable(), 1, 0) + worth_of(gable(), 0, 1) == pytest.approx(0.023516663, abs=1e-9)


def test_the_mean_over_the_years_of_a_hazard():
    assert worth_of(gable((1.0, 3.0, 10.0)), 1, 0) == pytest.approx(0.015072, abs=5e-7)


@pytest.mark.parametrize(
    ("years", "mean", "likely"), [((3.0, 10.0, 30.0), 0.298460, 0.259182), ((10.0, 30.0, 300.0), 0.104358, 0.095163)]
)
def test_mean_share_gone_in_as_many_years_as_are_likely(years, mean, likely):
    """The table's years are short, likely, long; ten or thirty years pass at a loss of .3 an event."""
    for triple, gone in ((years, mean), ((years[1],) * 3, likely)):
        its = situation_of(objects=[obj("o")], hazards=[hazard("o", "h", reach=1.0, loss_depth=0.3, years=triple)])
        lost = losses(hazard_table(its, planning()), Jobs(*map(np.array, ([0], [[-1]], [[0]]))), NO_PLACE, 10.0)

        assert lost[0, 0] == pytest.approx(gone, abs=6e-7)
