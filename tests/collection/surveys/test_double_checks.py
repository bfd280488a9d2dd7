"""Objects that two people graded: which grades belong together, agreement with its limits, and where they differ."""

from datetime import date

import polars as pl
import pytest

from collection.surveys.double_checks import agreement, by_two, differences, graded_together
from collection.trends.visits import VISITS

LABELS = ["Good", "Fair", "Poor", "Unacceptable"]


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
