"""Quantiles of a density on a grid, and the exact limits that follow: gamma, and Clopper and Pearson's for a share."""

from collections.abc import Sequence
from statistics import NormalDist

import numpy as np
import numpy.typing as npt
from scipy.special import betaincinv, gammaincinv

Array = npt.NDArray[np.float64]
FINER = 20  # nodes of a coarse grid are parted into so many steps, the logarithm being straight between them
WIDEST = 40.0  # logarithm of a density below its greatest beyond which nothing is left


def quantiles(nodes: Array, density: Array, chances: Sequence[float]) -> Array:
    """Values of `nodes` below which the density (in proportion, on an even grid) leaves these chances."""
    with np.errstate(divide="ignore"):
        log = np.maximum(np.log(density / density.max()), -WIDEST * FINER)
    fine = np.linspace(nodes[0], nodes[-1], FINER * (nodes.size - 1) + 1)
    return quantiles_of_log(fine, _between(nodes, log, fine), chances)


def _between(nodes: Array, values: Array, fine: Array) -> Array:
    """Values at finer nodes: a cubic through each pair of neighbours with the slopes there (Catmull and Rom 1974)."""
    step = nodes[1] - nodes[0]
    slope = np.gradient(values)
    at = np.minimum(((fine - nodes[0]) / step).astype(int), nodes.size - 2)
    u = (fine - nodes[at]) / step
    left, right = values[at] + u * slope[at], values[at + 1] - (1 - u) * slope[at + 1]
    ends = values[at] * (1 - u) + values[at + 1] * u
    bend = (left - ends) * (1 - u) ** 2 + (right - ends) * u**2
    return np.asarray(ends + bend)


def gamma_points(shape: float, rate: float, chances: Sequence[float]) -> Array:
    """Quantiles of a gamma distribution [1/rate]: exact limits of a Poisson rate given counts (Garwood 1936)."""
    return np.asarray(gammaincinv(shape, np.asarray(chances)) / rate)


def share_limits(events: int, of: int, chance: float) -> tuple[float, float]:
    """Exact limits of a share (Clopper and Pearson 1934) that holds `chance`; 1 of 10 at 0.9: 0.0051 to 0.3942."""
    tail = (1 - chance) / 2
    low = 0.0 if events == 0 else float(betaincinv(events, of - events + 1, tail))
    return low, 1.0 if events == of else float(betaincinv(events + 1, of - events, 1 - tail))


def count_limits(events: int, chance: float) -> tuple[float, float]:
    """Exact limits of the mean of a count (Garwood 1936) that hold `chance`; 3 at 0.95: 0.618672 to 8.767273."""
    tail = (1 - chance) / 2
    low = 0.0 if events == 0 else float(gammaincinv(events, tail))
    return low, float(gammaincinv(events + 1, 1 - tail))


def normal_deviate(chance: float) -> float:
    """Standard errors either way that hold `chance`; 0.95: 1.959964."""
    return NormalDist().inv_cdf((1 + chance) / 2)


def quantiles_of_log(nodes: Array, log_density: Array, chances: Sequence[float]) -> Array:
    """`quantiles` of a density whose logarithm is given on a fine grid."""
    density = np.exp(log_density - log_density.max())
    below = np.concatenate([[0.0], np.cumsum((density[1:] + density[:-1]) / 2)])
    return np.asarray(np.interp(np.asarray(chances) * below[-1], below, nodes))
