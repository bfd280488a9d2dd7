"""Years to a loss as three points: a two-piece lognormal and its mean rate.

short, likely, long are the 5th, 50th and 95th percentile of the mean years of many such damages (risk-model, section 5
of the design): T = likely x exp(sigma x z), with one sigma on each side, so that the three points hold exactly.
"""

import math

LIMIT_90 = 1.64485  # standard normal deviate of the 95th percentile, to the digits the design is worked with


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
