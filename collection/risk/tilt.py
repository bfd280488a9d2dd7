"""People look first at what looks worst: how far the first checks of a museum were chosen, learned from their order.

Each kind's objects in order of their first check, then those not yet checked, get normal scores s. P(above the limit |
s) = Phi(beta + c s), the exponent of sizes above it a exp(-d s), sizes below it in proportion to exp(h s) (risk model,
section 2). Posteriors on grids: no sampling.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
import numpy.typing as npt

from collection.risk.unchecked_parameters import Tilt

Array = npt.NDArray[np.float64]
POINTS = 41  # of a grid of c, d or h
REACH = 3.0  # standard deviations that a grid goes each way
BETAS = np.linspace(-4, 2.5, 131)
LEAST = 1e-12  # no chance is smaller
PHI_SCALE = 0.3275911
PHI_TERMS = (0.254829592, -0.284496736, 1.421413741, -1.453152027, 1.061405429)
HALF = 0.5  # a rank stands in the middle of its step
_NORMAL = NormalDist()


@dataclass(frozen=True)
class Chosen:
    """First checks of one kind, and those not yet checked.

    scores, above : of the objects checked; unchecked : scores left for the others; prior : chance above the limit,
    worth so many objects.
    """

    scores: Array
    above: npt.NDArray[np.bool_]
    unchecked: Array
    prior: float
    worth: float


@dataclass(frozen=True)
class ChanceGrid:
    """Posterior of c [POINTS] and, for each c and kind, of beta [POINTS x kinds x BETAS]."""

    c: Array
    weight: Array
    beta: Array


def phi(x: Array) -> Array:
    """The standard normal distribution function, to 1.5e-7 (Abramowitz and Stegun, Handbook of Mathematical Functions,
    1964, 7.1.26).
    """
    z = np.abs(x) / np.sqrt(2)
    t = 1 / (1 + PHI_SCALE * z)
    upper = np.polynomial.polynomial.polyval(t, (0.0, *PHI_TERMS)) * np.exp(-z * z) / 2
    return np.asarray(np.where(x >= 0, 1 - upper, upper))


def normal_scores(order: Array, unchecked: int) -> tuple[Array, Array]:
    """Scores of objects by the order of their first check (ties halved), and of those that come after all of them.

    In which order those would come nobody knows: each of the places left is one of the scores, in no order.
    """
    count = order.size + unchecked
    ranks = np.array([(order < each).sum() + ((order == each).sum() + 1) / 2 for each in order])
    after = order.size + 1 + np.arange(unchecked)
    # The first checked stand highest: what looked worst.
    place = 1 - (np.concatenate([ranks, after]) - HALF) / max(count, 1)
    scores = np.array([_NORMAL.inv_cdf(min(max(p, LEAST), 1 - LEAST)) for p in place])
    return scores[: order.size], scores[order.size :]


def grid(prior: tuple[float, float]) -> tuple[Array, Array]:
    """Points over the prior (mean, sd), and the logarithm of its density there."""
    mean, sd = prior
    z = np.linspace(-REACH, REACH, POINTS)
    return mean + sd * z, -(z**2) / 2


def chance_grid(kinds: Sequence[Chosen], tilt: Tilt) -> ChanceGrid:
    """How the chance of a loss above the limit falls with the order of looking; kinds are independent given c."""
    points, log = grid(tilt.c)
    beta = np.zeros((POINTS, len(kinds), BETAS.size))
    for number, slope in enumerate(points):
        for k, kind in enumerate(kinds):
            marginal = phi(BETAS / np.sqrt(1 + slope**2))
            fit = kind.worth * (kind.prior * _log(marginal) + (1 - kind.prior) * _log(1 - marginal))
            chance = phi(BETAS[:, None] + slope * kind.scores[None, :])
            fit = fit + np.where(kind.above, _log(chance), _log(1 - chance)).sum(axis=1)
            top = fit.max()
            density = np.exp(fit - top)
            log[number] += top + np.log(density.sum())
            beta[number, k] = density / density.sum()
    return ChanceGrid(points, _weights(log), beta)


def size_slope(scores: Array, logs: Array, prior: tuple[float, float], worth: float) -> tuple[Array, Array]:
    """Points and weights of d: how the exponent of sizes above the limit changes with the score.

    logs : ln(size / limit).
    """
    points, log = grid(prior)
    for number, slope in enumerate(points):
        tilted = np.exp(-slope * scores)
        log[number] += np.log(tilted).sum() - (worth + scores.size) * np.log(worth + (tilted * logs).sum())
    return points, _weights(log)


def below_slope(
    scores: Array, sizes: Array, prior: tuple[float, float], start: float, worth: float
) -> tuple[Array, Array]:
    """Points and weights of h: how sizes below the limit change with the score; `start` is their prior mean.

    Most are 0 and a few large, so they tell as much as (sum)^2 / (sum of squares) of them would.
    """
    points, log = grid(prior)
    counted = sizes.sum() ** 2 / max((sizes**2).sum(), LEAST)
    share = counted / max(scores.size, 1)
    for number, slope in enumerate(points):
        tilted = np.exp(-slope * scores)
        total = worth * start + (sizes * tilted).sum()
        log[number] += share * (np.log(tilted).sum() - (worth + scores.size) * np.log(max(total, LEAST)))
    return points, _weights(log)


def _log(x: Array) -> Array:
    return np.asarray(np.log(np.maximum(x, LEAST)))


def _weights(log: Array) -> Array:
    weight = np.exp(log - log.max())
    return np.asarray(weight / weight.sum())
