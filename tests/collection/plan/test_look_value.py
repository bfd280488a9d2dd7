"""What a check is worth, against worked cases; the figures were worked out apart from this code."""

import numpy as np
import pytest

from collection.plan.look_value import answers, inspection_round, look_value

WORTH, PRICE = np.array([[100.0], [2.0]]), np.array([20.0])


def value(chance, *right):
    return look_value(np.array([chance, 1 - chance]), WORTH, PRICE, answers(np.array(right)))


def test_a_check_that_is_mostly_right():
    its = value(0.3, 0.9, 0.95)

    assert (its.without, its.with_check, its.value) == pytest.approx((11.4, 20.97, 9.57))


def test_a_perfect_check():
    assert value(0.3, 1.0, 1.0).value == pytest.approx(12.6)


@pytest.mark.parametrize(("chance", "worth"), [(0.02, 0.558), (0.1, 6.39), (0.2, 12.08), (0.5, 4.55)])
def test_it_is_worth_most_where_the_decision_is_least_clear(chance, worth):
    assert value(chance, 0.9, 0.95).value == pytest.approx(worth, abs=5e-4)


def test_minutes_have_a_price():
    assert look_value(np.array([0.3, 0.7]), WORTH, PRICE, answers(np.array([1.0, 1.0])), 2.6).value == pytest.approx(10)


def test_the_round_takes_the_highest_value_an_hour_first_until_the_hours_are_used():
    assert inspection_round(np.array([1.0, 4.0, -1.0, 3.0]), np.array([1.0, 2.0, 1.0, 1.0]), 3.0).tolist() == [3, 1]
