"""Rates as a distribution: one at each deviate of the years to a loss, and what quiet years say of their mean.

Apart from `years`, so that what only checks a file of rates starts without numpy.
"""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from collection.risk.years import sigmas

NODES = 2001  # of the trapezoid over z; halving them changes no factor by more than 1e-9
WIDEST_Z = 9.0
Array = npt.NDArray[np.float64]


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
