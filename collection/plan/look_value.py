"""What a check is worth before planning: at the plan's prices objects are separate, so it is a closed form."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class LookValue:
    """Expected gain without a check, with one, and what the check is worth, all in the plan's unit of worth."""

    without: float
    with_check: float
    value: float


def look_value(chances: Array, worth: Array, prices: Array, right: Array, price_of_check: float = 0.0) -> LookValue:
    """Value of one check of one object, at the plan's prices.

    Parameters
    ----------
    chances : of each state. worth : states x options, worth of each option at its best year. prices : of each option.
    right : states x answers, chance that a check of a state reports each answer; rows sum to 1.

    Two states (.3, .7), worth 100 and 2, price 20, right .9 and .95: 11.4 without, 20.97 with, value 9.57.
    """
    gain = worth - prices
    without = max(0.0, float((chances @ gain).max(initial=0.0)))
    by_answer = (right * chances[:, None]).T @ gain
    with_check = float(np.maximum(by_answer.max(axis=1, initial=0.0), 0).sum())
    return LookValue(without, with_check, with_check - without - price_of_check)


def answers(right: Array) -> Array:
    """States x answers where a check names the right state with chance `right`, any other alike."""
    states = right.size
    others = (1 - right) / max(1, states - 1)
    return np.asarray(np.where(np.eye(states, dtype=bool), right[:, None], others[:, None]))


def inspection_round(values: Array, hours: Array, hours_there_are: float) -> npt.NDArray[np.int64]:
    """Positions of the checks to do, highest value per hour first, until the hours are used.

    values : of each check, on its own; those worth nothing are left out. hours [h] : of each check.
    """
    gaining = np.flatnonzero(values > 0)
    an_hour = values[gaining] / np.maximum(hours[gaining], np.finfo(np.float64).tiny)
    order = gaining[np.lexsort((gaining, -an_hour))]
    return np.asarray(order[np.cumsum(hours[order]) <= hours_there_are], dtype=np.int64)
