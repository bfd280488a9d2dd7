"""How long things last when failures lie between two looks: Turnbull's estimate, and a Weibull curve on the same.

Turnbull, J. R. Statist. Soc. B 38 (1976): mass only on intervals from a left end to the next right end, by
self-consistency; a thing that entered late counts among those that had lasted until then.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.optimize import minimize

Array = npt.NDArray[np.float64]
CHANGE, ROUNDS = 1e-9, 20_000
TINY = 1e-12  # of a mass that a leap would take away
LARGEST = 50.0  # power of e beyond which nothing lasts
NEWTON_STEPS, HALVINGS, DIFFERENCE, NEAR = 40, 6, 1e-3, 1e-5  # of ln shape and ln scale


@dataclass(frozen=True)
class Lifetimes:
    """Of each thing, in years: it failed in (low, high], high infinite where it had not failed when last looked at;
    entered: its age when it was first seen, 0 from the start.
    """

    low: Array
    high: Array
    entered: Array

    def take(self, rows: npt.NDArray[np.int64]) -> "Lifetimes":
        """These rows, in this order."""
        return Lifetimes(self.low[rows], self.high[rows], self.entered[rows])


@dataclass(frozen=True)
class Steps:
    """Mass that fails within each (low, high] year; the last may be open. Between them nothing fails, within them
    the data do not say when.
    """

    low: Array
    high: Array
    mass: Array

    def lasting(self, years: Array) -> Array:
        """Share that lasts beyond each age; not a number within a step, where the data do not say."""
        at = np.asarray(years, dtype=np.float64)[:, None]
        within = (at > self.low) & (at < self.high)
        left = (self.mass * (at <= self.low)).sum(axis=1)
        unknown = (within & np.isfinite(self.high) & (self.mass > 0)).any(axis=1)
        return np.asarray(np.where(unknown, np.nan, left + (self.mass * within).sum(axis=1)))


def turnbull(its: Lifetimes, weights: Array | None = None) -> Steps:
    """The estimate; masses add up to 1. weights : how many things each row stands for, one each where not given.

    Self-consistency in squared steps (Varadhan and Roland, Scand. J. Statist. 35 (2008) 335, from memory): the same
    fixed point in far fewer rounds.
    """
    low, high = _candidates(its)
    inside, beyond = _held(its, low, high)
    times = np.ones(its.low.size) if weights is None else weights
    late = ~beyond.all(axis=1)
    of_late, beyond = times[late], beyond[late]

    def step(mass: Array) -> Array:
        total = mass * ((times / (inside @ mass)) @ inside) + of_late @ _never_entered(mass, beyond)
        return np.asarray(total / total.sum())

    mass = np.full(low.size, 1 / low.size)
    for _ in range(ROUNDS):
        once = step(mass)
        if float(np.abs(once - mass).max()) < CHANGE:
            return Steps(low, high, once)
        mass = step(_leap(mass, once, step(once)))
    return Steps(low, high, mass)


def _held(its: Lifetimes, low: Array, high: Array) -> tuple[Array, npt.NDArray[np.bool_]]:
    """Whether each thing may have failed within each interval, and which intervals lie after it was first seen."""
    within = (low >= its.low[:, None]) & (high <= its.high[:, None])
    return within.astype(np.float64), low >= its.entered[:, None]


def _leap(mass: Array, once: Array, twice: Array) -> Array:
    """Where two rounds lead, followed further, and never past nothing."""
    first, bend = once - mass, twice - 2 * once + mass
    size = float(np.linalg.norm(bend))
    times = max(1.0, float(np.linalg.norm(first)) / size) if size else 1.0
    ahead = np.maximum(mass + 2 * times * first + times**2 * bend, 0.0)
    leapt = np.where(ahead > 0, ahead, np.minimum(twice, TINY))
    return np.asarray(leapt / leapt.sum())


def _never_entered(mass: Array, beyond: npt.NDArray[np.bool_]) -> Array:
    """Of each thing seen late, those of its kind that had failed before it could be seen, by where they failed."""
    seen = (beyond * mass).sum(axis=1, keepdims=True)
    return np.asarray(np.where(beyond, 0.0, mass) / seen)


def _candidates(its: Lifetimes) -> tuple[Array, Array]:
    """Intervals from a left end (or an entry) to the next right end with no left end between."""
    ends = [(value, 0) for value in np.unique(its.high)]  # at one age a right end comes before a left one: (a, b]
    starts = [(value, 1) for value in np.unique(np.concatenate([its.low, its.entered]))]
    ordered = sorted([*ends, *starts])
    pairs = [(a, b) for (a, left), (b, right) in zip(ordered, ordered[1:], strict=False) if left and not right]
    low, high = np.array(pairs, dtype=np.float64).T
    return low, high


@dataclass(frozen=True)
class Weibull:
    """Share that lasts beyond t: exp(-(t/scale)^shape). log_likelihood : of the intervals."""

    shape: float
    scale: float
    log_likelihood: float

    def lasting(self, years: Array) -> Array:
        """Share that lasts beyond each age."""
        return np.asarray(np.exp(-((np.asarray(years) / self.scale) ** self.shape)))


def weibull(its: Lifetimes) -> Weibull:
    """The Weibull curve of greatest likelihood on the same intervals and entries."""
    weights = np.ones((1, its.low.size))

    def minus_log(theta: Array) -> float:
        return float(_minus_log(its, weights, theta[None, :])[0])

    middle = np.where(np.isfinite(its.high), (its.low + its.high) / 2, its.low)
    start = np.array([0.0, np.log(max(float(middle.sum()) / max(int(np.isfinite(its.high).sum()), 1), CHANGE))])
    best = minimize(
        minus_log, start, method="Nelder-Mead", options={"xatol": CHANGE, "fatol": CHANGE, "maxiter": ROUNDS}
    )
    return Weibull(float(np.exp(best.x[0])), float(np.exp(best.x[1])), -float(best.fun))


def weibulls(its: Lifetimes, weights: Array, near: Weibull) -> list[Weibull]:
    """The curve of greatest likelihood for each row of weights, how often each thing counts: all in step.

    Newton's method from the curve of all, each step halved until it betters the likelihood.
    """
    theta = np.tile(np.log([near.shape, near.scale]), (len(weights), 1))
    value = _minus_log(its, weights, theta)
    for _ in range(NEWTON_STEPS):
        step = _newton_step(its, weights, theta)
        for _ in range(HALVINGS):
            ahead = _minus_log(its, weights, theta - step)
            better = ahead < value
            step = np.where(better[:, None], step, step / 2)
            if better.all():
                break
        ahead = _minus_log(its, weights, theta - step)
        theta = np.where((ahead < value)[:, None], theta - step, theta)
        value = np.minimum(ahead, value)
        if float(np.abs(step).max()) < NEAR:
            break
    return [Weibull(float(np.exp(a)), float(np.exp(s)), -float(v)) for (a, s), v in zip(theta, value, strict=True)]


def _minus_log(its: Lifetimes, weights: Array, theta: Array) -> Array:
    """Minus the weighted log likelihood of each row of ln shape, ln scale."""
    shape, log_scale = np.exp(np.minimum(theta[:, :1], LARGEST)), theta[:, 1:]

    def hazard(years: Array) -> Array:
        power = shape * (np.log(np.maximum(years, np.finfo(float).tiny)) - log_scale)
        return np.asarray(np.exp(np.clip(power, -LARGEST, LARGEST)))

    low, failed = hazard(its.low), np.isfinite(its.high)
    span = np.maximum(hazard(its.high[failed]) - low[:, failed], np.finfo(float).tiny)
    held = np.einsum("rt,rt->r", weights, low - hazard(its.entered))
    return np.asarray(held - np.einsum("rt,rt->r", weights[:, failed], np.log(-np.expm1(-span))))


def _newton_step(its: Lifetimes, weights: Array, theta: Array) -> Array:
    """Inverse second derivatives times gradient, by differences; the gradient alone where they are not positive."""
    d = np.eye(2) * DIFFERENCE

    def f(shift: Array) -> Array:
        return _minus_log(its, weights, theta + shift)

    up, down, both, middle = [f(x) for x in d], [f(-x) for x in d], f(d[0] + d[1]), f(np.zeros(2))
    gradient = np.stack([(u - w) / (2 * DIFFERENCE) for u, w in zip(up, down, strict=True)], axis=1)
    second = [(u + w - 2 * middle) / DIFFERENCE**2 for u, w in zip(up, down, strict=True)]
    mixed = (both + f(-d[0] - d[1]) - up[0] - down[0] - up[1] - down[1] + 2 * middle) / (2 * DIFFERENCE**2)
    det = second[0] * second[1] - mixed**2
    positive = (det > 0) & (second[0] > 0)
    safe = np.where(positive, det, 1.0)
    g, h = gradient.T
    solved = np.stack([second[1] * g - mixed * h, second[0] * h - mixed * g], axis=1) / safe[:, None]
    plain = gradient / np.maximum(np.abs(gradient).max(axis=1, keepdims=True), 1.0)
    return np.asarray(np.clip(np.where(positive[:, None], solved, plain), -1.0, 1.0))
