"""Agreement against published tables."""

import numpy as np
import pytest

from collection.surveys.agreement import (
    INTERVAL,
    LINEAR,
    NOMINAL,
    ORDINAL,
    QUADRATIC,
    alpha,
    kappa_weights,
    table_of,
    weighted_kappa,
)

NONE = np.nan
# Three coders, fifteen units with missing cells: Wikipedia, Krippendorff's alpha.
CODERS = np.array(
    [
        [NONE, NONE, NONE, NONE, NONE, 3, 4, 1, 2, 1, 1, 3, 3, NONE, 3],
        [1, NONE, 2, 1, 3, 3, 4, 3, NONE, NONE, NONE, NONE, NONE, NONE, NONE],
        [NONE, NONE, 2, 1, 3, 4, 4, NONE, 2, 1, 1, 3, 3, NONE, 4],
    ]
)


@pytest.mark.parametrize(("level", "value"), [(NOMINAL, 0.691358), (ORDINAL, 0.806721), (INTERVAL, 0.810845)])
def test_alpha_with_missing_cells(level, value):
    assert alpha(CODERS - 1, 4, level) == pytest.approx(value, abs=5e-7)


def test_alpha_of_one_grade_is_not_defined():
    assert np.isnan(alpha(np.ones((2, 5)), 4))
    assert np.isnan(alpha(np.full((2, 5), NONE), 4))
    assert alpha(np.array([[0, 1, 2, 3], [0, 1, 2, 3.0]]), 4) == pytest.approx(1)


def test_kappa_of_cohen():
    """Cohen, Psychological Bulletin 70 (1968) 213, table 1."""
    table = np.array([[0.44, 0.07, 0.09], [0.05, 0.20, 0.05], [0.01, 0.03, 0.06]])

    assert weighted_kappa(table, kappa_weights(3, 0)) == pytest.approx(0.491525, abs=5e-7)
    assert weighted_kappa(table, np.array([[0, 1, 3], [1, 0, 6], [3, 6, 0.0]])) == pytest.approx(0.347826, abs=5e-7)


def test_kappa_as_sas_prints_it():
    """Print-out of SAS in the tests of statsmodels."""
    table = np.array([[0, 4, 1], [0, 8, 0], [0, 1, 5.0]])

    values = [weighted_kappa(table, kappa_weights(3, power)) for power in (0, LINEAR, QUADRATIC)]
    assert values == pytest.approx([0.484163, 0.470120, 0.450161], abs=5e-7)


SECOND = [3, 6, 4, 6, 2, 4, 2, 4, 3, 3, 2, 3, 3, 3, 2, 2, 1, 3, 3, 4]
THIRD = [2, 1, 4, 4, 3, 2, 1, 6, 1, 1, 1, 2, 3, 3, 1, 1, 3, 3, 2, 2]


@pytest.mark.parametrize(("power", "full", "dropped"), [(LINEAR, 0.126214, 0.145907), (QUADRATIC, 0.229798, 0.252033)])
def test_all_grades_of_the_scale_count_used_or_not(power, full, dropped):
    """Anxiety data of the R package irr, raters 2 and 3, of whom none gave a 5; the package drops it, the scale has it."""
    whole = table_of(np.array(SECOND) - 1, np.array(THIRD) - 1, 6)
    without = np.delete(np.delete(whole, 4, 0), 4, 1)

    assert weighted_kappa(whole, kappa_weights(6, power)) == pytest.approx(full, abs=5e-7)
    assert weighted_kappa(without, kappa_weights(5, power)) == pytest.approx(dropped, abs=5e-7)
