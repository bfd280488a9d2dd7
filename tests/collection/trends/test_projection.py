"""Grades ahead: a textbook's cohort of bridge decks, and matrices that say nothing."""

import numpy as np
import polars as pl
import pytest

from collection.trends.grades import TRANSITIONS
from collection.trends.projection import project, step_matrix

# Textbook exercise (urban Interstate bridge decks, five states); read from a web page, worked out by hand.
DECKS = np.array([1771.0, 2751.0, 1771.0, 578.0, 0.0])
YEARLY = np.array(
    [[0.6, 0.3, 0.1, 0, 0], [0, 0.7, 0.2, 0.1, 0], [0, 0, 0.6, 0.3, 0.1], [0, 0, 0, 0.7, 0.3], [0, 0, 0, 0, 1]]
)


@pytest.mark.parametrize(
    ("years", "decks"),
    [
        (0, (1771, 2751, 1771, 578, 0)),
        (1, (1062.600, 2457.000, 1789.900, 1211.000, 350.500)),
        (2, (637.56, 2038.68, 1671.60, 1630.37, 892.79)),
        (3, (382.536, 1618.344, 1474.452, 1846.607, 1549.061)),
        (4, (229.522, 1247.602, 1246.594, 1896.795, 2250.488)),
    ],
)
def test_a_cohort_of_6871_bridge_decks(years, decks):
    assert project(DECKS, YEARLY, years) == pytest.approx(decks, abs=6e-4)
    assert project(DECKS, YEARLY, years).sum() == pytest.approx(6871)


def test_rows_and_columns_exchanged_are_refused():
    with pytest.raises(ValueError, match="add up to"):
        project(DECKS, YEARLY.T, 4)


def transitions_of(counts: list[list[int]]) -> pl.DataFrame:
    rows = [(i, j, n, sum(row)) for i, row in enumerate(counts) for j, n in enumerate(row)]
    return pl.DataFrame(rows, schema=TRANSITIONS, orient="row")


def test_chances_are_counts_over_their_row():
    matrix = step_matrix(transitions_of([[3, 1], [0, 5]]))

    assert matrix == pytest.approx(np.array([[0.75, 0.25], [0, 1]]))


def test_a_grade_nobody_began_with_gives_no_matrix():
    assert "were nobody's at the start" in str(step_matrix(transitions_of([[3, 1], [0, 0]])))
