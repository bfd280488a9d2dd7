"""Years to a loss as three points: a two-piece lognormal, its mean rate, and what quiet years say of it.

short, likely, long are the 5th, 50th and 95th percentile of the mean years of many such damages (risk-model, section 5
of the design): T = likely x exp(sigma x z), with one sigma on each side, so that the three points hold exactly.
"""

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

LIMIT_90 = 1.64485  # standard normal deviate of the 95th percentile, to the digits the design is worked with
NODES = 2001  # of the trapezoid over z; halving them changes no factor by more than 1e-9
WIDEST_Z = 9.0
Array = npt.NDArray[np.float64]


def sigmas(short: float, likely: float, long: float) -> tuple[float, float]:
    """Spread of log years below and above likely; a side that the ladder ends mirrors the other."""
    low, high = math.log(likely / short) / LIMIT_90, math.log(long / likely) / LIMIT_90
    return low or high, high or low


def mean_rate(short: float, likely: float, long: float) -> float:
    """Mean of 1/T [1/year] in closed form; (1, 3, 10) gives 0.412729."""
    low, high = sigmas(short, likely, long)
    return (math.exp(low**2 / 2) * _phi(low) + math.exp(high**2 / 2) * _phi(-high)) / likely


def _phi(z: float) -> float:
    """The standard normal distribution function."""
    return math.erfc(-z / math.sqrt(2)) / 2


def mean_of_range(times: float) -> float:
    """Mean over the median of a lognormal that reaches `times` its median at the 95th percentile."""
    return math.exp((math.log(times) / LIMIT_90) ** 2 / 2)


def rates_of(z: Array, years: Sequence[float]) -> Array:
    """Rates 1/T [1/year] at standard normal deviates `z`: a high z is a long time."""
    short, likely, long = years
    low, high = sigmas(short, likely, long)
    return np.asarray(np.exp(-np.where(z < 0, low, high) * z) / likely)


def quiet_factor(years: Sequence[float], quiet_years: Array) -> Array:
    """What `quiet_years` [year] without an event do to a mean rate: E[l exp(-l t)] / (E[l] E[exp(-l t)]).

    (1, 3, 10) after 9.4 quiet years gives 0.405777.
    """
    z = np.linspace(-WIDEST_Z, WIDEST_Z, NODES)
    weight = np.exp(-(z**2) / 2)
    weight /= weight.sum()
    rate = rates_of(z, years)
    silent = np.exp(-np.outer(np.asarray(quiet_years, dtype=np.float64), rate)) * weight
    return np.asarray((silent @ rate) / ((weight @ rate) * silent.sum(axis=1)))
