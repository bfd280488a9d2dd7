"""Agreement against published tables; of objects two people graded, which grades belong together and where they differ."""

from datetime import date

import numpy as np
import polars as pl
import pytest

from collection.surveys.agreement import (
    INTERVAL,
    LINEAR,
    NOMINAL,
    ORDINAL,
    QUADRATIC,
    agreement,
    alpha,
    by_two,
    differences,
    graded_together,
    kappa_weights,
    table_of,
    weighted_kappa,
)
from collection.trends.visits import VISITS

NONE = np.nan
# Three coders, fifteen units with missing cells: Wikipedia, Krippendorff's alpha.
CODERS = np.array(
    [
        [NONE, NONE, NONE, NONE, NONE, 3, 4, 1, 2, 1, 1, 3, 3, NONE, 3],
        [1, NONE, 2, 1, 3, 3, 4, 3, NONE, NONE, NONE, NONE, NONE, NONE, NONE],
        [NONE, NONE, 2, 1, 3, 4, 4, NONE, 2, 1, 1, 3, 3, NONE, 4],
    ]
)
LABELS = ["Good", "Fair", "Poor", "Unacceptable"]


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


def visits(*rows):
    """object, examiner, day of 2026, grade, treatments before."""
    full = [
        {
            "object_id": o,
            "check_id": f"k{n}",
            "examiner": who,
            "seen_on": date(2026, *day),
            "grade": grade,
            "treated": t,
        }
        for n, (o, who, day, grade, t) in enumerate(rows)
    ]
    return pl.DataFrame(full, schema=VISITS)


def test_grades_within_the_days_belong_together_unless_something_was_treated_between():
    its = graded_together(
        visits(
            ("A", "Ida", (1, 1), 0, 0), ("A", "Bo", (1, 20), 1, 0), ("A", "Bo", (1, 25), 2, 0), ("A", "Udo", (3, 1), 3, 0),
            ("B", "Ida", (1, 1), 0, 0), ("B", "Bo", (1, 2), 0, 1), ("C", "Ida", (1, 1), 1, 0), ("C", "Ida", (1, 2), 1, 0),
            ("D", "Ida", (1, 1), 1, 0), ("D", "Bo", (1, 2), None, 0),
        ),
        30,
    )  # fmt: skip

    assert its.select("object_id", "examiner", "grade").rows() == [("A", "Bo", 2), ("A", "Ida", 0)]


def test_a_chain_of_checks_is_no_longer_than_the_days():
    chain = visits(*(("A", who, day, 0, 0) for who, day in (("Ida", (1, 1)), ("Bo", (1, 25)), ("Udo", (2, 15)))))

    assert graded_together(chain, 30)["examiner"].to_list() == ["Bo", "Ida"]


def graded(pairs):
    return graded_together(
        visits(*((f"O{n}", who, (5, 1), g, 0) for n, pair in enumerate(pairs) for who, g in zip(("Bo", "Ida"), pair, strict=True))),
        30,
    )  # fmt: skip


def test_two_who_always_agree_and_two_who_agree_as_by_chance():
    same = agreement(graded([(n % 4, n % 4) for n in range(24)]), 4, 20, 50, 0.9)
    assert (same.alpha, same.low, same.high) == (pytest.approx(1), pytest.approx(1), pytest.approx(1))
    chance = agreement(graded([(n % 4, n // 4 % 4) for n in range(32)]), 4, 20, 50, 0.9)
    assert abs(chance.alpha) < 0.05
    assert chance.low < 0 < chance.high


def test_too_few_objects_or_grades_all_alike_give_no_measure_and_say_why():
    few = agreement(graded([(0, 1)] * 3), 4, 20, 50, 0.9)
    assert (few.alpha, few.objects, few.refused) == (None, 3, "fewer than 20 objects were graded by two people")
    alike = agreement(graded([(1, 1)] * 30), 4, 20, 50, 0.9)
    assert (alike.alpha, alike.refused) == (None, "all grades are the same")
    assert agreement(graded([]), 4, 20, 50, 0.9).objects == 0


def test_two_by_two_with_what_they_graded_alike():
    """24 objects: 20 alike, 4 a grade apart. Linear weights: observed .1667, expected 1.25 of 4 even grades: kappa 1 -
    .1667/1.25 = .8667 where both use each grade alike (by hand, Cohen 1968).
    """
    pairs = [(n % 4, n % 4) for n in range(20)] + [(0, 1), (1, 0), (2, 3), (3, 2)]
    (row,) = by_two(graded(pairs), 4, 20).to_dicts()

    assert (row["first"], row["second"], row["objects"], row["alike"]) == ("Bo", "Ida", 24, 20)
    assert row["kappa"] == pytest.approx(1 - (4 / 24) / 1.25)
    assert by_two(graded([(0, 1)]), 4, 20)["kappa"].to_list() == [None]


def test_the_widest_difference_comes_first_with_who_gave_what():
    rows = differences(graded([(0, 0), (0, 1), (3, 1)]), LABELS)

    assert rows.select("object_id", "apart").rows() == [("O2", 2), ("O1", 1)]
    assert rows["gave"].to_list()[0] == ["Bo: Unacceptable", "Ida: Fair"]
