"""The decline and the examiners that explain the grades best, with limits (maximum of the penalised likelihood)."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.optimize import minimize

from collection.trends.hidden_grades import chances, written, written_slopes
from collection.trends.likelihood import Array, Histories, Model, log_likelihood
from collection.trends.parameters import Trends

STEP = 1e-4  # of a parameter, for second derivatives
TOLERANCE = 1e-5  # of the gradient


@dataclass(frozen=True)
class Layout:
    """Where each kind of parameter stands in the vector: ln rates, strictness but the yardstick's, ln noise, logits of
    the start but the last.

    graded_truly : what is written is the true grade, as in published data; no examiner then.
    """

    grades: int
    examiners: int
    yardstick: int
    graded_truly: bool = False

    def parts(self, theta: Array) -> tuple[Array, Array, Array, Array]:
        """ln rates, strictness of every examiner, ln noise, logits of every grade."""
        steps, others = self.grades - 1, 0 if self.graded_truly else self.examiners - 1
        noises = 0 if self.graded_truly else self.examiners
        rates, rest = theta[:steps], theta[steps:]
        strictness = np.insert(rest[:others], self.yardstick, 0.0) if noises else np.zeros(0)
        return rates, strictness, rest[others : others + noises], np.append(rest[others + noises :], 0.0)

    def model(self, theta: Array) -> Model:
        """The model these parameters stand for."""
        log_rates, strictness, log_noise, logits = self.parts(theta)
        start = np.exp(logits - logits.max())
        tables = [written(d, np.exp(n), self.grades) for d, n in zip(strictness, log_noise, strict=True)]
        return Model(start / start.sum(), np.exp(log_rates), np.array(tables or [np.eye(self.grades)]))

    def gradient(self, theta: Array, histories: Histories) -> tuple[float, Array, Array]:
        """Log likelihood, its gradient by the parameters, and the mean chances of the true grades at the end."""
        model = self.model(theta)
        value, slopes, ends = log_likelihood(histories, model)
        by_start = model.start * (slopes.start - slopes.start @ model.start)
        _, strictness, log_noise, _ = self.parts(theta)
        by = [written_slopes(d, np.exp(n), self.grades) for d, n in zip(strictness, log_noise, strict=True)]
        by_strictness = np.array([(d * s).sum() for (d, _), s in zip(by, slopes.written, strict=False)])
        by_noise = np.array([(n * s).sum() for (_, n), s in zip(by, slopes.written, strict=False)])
        rest = np.delete(by_strictness, self.yardstick) if by_strictness.size else by_strictness
        return value, np.concatenate([slopes.log_rates, rest, by_noise, by_start[:-1]]), ends.mean(axis=0)


@dataclass(frozen=True)
class Fit:
    """The maximum. covariance : of theta, null where the second derivatives do not say. mix : mean chances of the true
    grades at the last grading of each history. log_likelihood : without the priors.
    """

    layout: Layout
    theta: Array
    covariance: Array | None
    mix: Array
    log_likelihood: float

    @property
    def model(self) -> Model:
        """The model at the maximum."""
        return self.layout.model(self.theta)


def fit(histories: Histories, layout: Layout, start: Array, figures: Trends) -> Fit:
    """Quasi-Newton from `start`; limits from the inverse of the second derivatives."""

    def lost(theta: Array) -> tuple[float, Array]:
        value, gradient, _ = layout.gradient(theta, histories)
        penalty, slope = _priors(theta, layout, figures)
        return penalty - value, slope - gradient

    best = minimize(lost, start, jac=True, method="BFGS", options={"gtol": TOLERANCE * len(histories.grade)})
    curvature = _curvature(lambda theta: lost(theta)[1], best.x)
    lowest = float(np.linalg.eigvalsh(curvature).min())
    covariance: Array | None = (
        np.asarray(np.linalg.inv(curvature), dtype=np.float64) if lowest > figures.curvature_least else None
    )
    value, _, mix = layout.gradient(best.x, histories)
    return Fit(layout, best.x, covariance, mix, value)


def _priors(theta: Array, layout: Layout, figures: Trends) -> tuple[float, Array]:
    """Minus the logarithm of the weak priors of strictness, noise and start, and its slope.

    Without the last a grade at which nobody began would leave its share of the start, and so all limits, unsaid.
    """
    slope = np.zeros_like(theta)
    if layout.graded_truly:
        return 0.0, slope
    first = layout.grades - 1
    others = slice(first, first + layout.examiners - 1)
    noises = slice(others.stop, others.stop + layout.examiners)
    strictness, noise = (
        theta[others] / figures.strictness_sd,
        (theta[noises] - figures.log_noise_mean) / figures.log_noise_sd,
    )
    slope[others], slope[noises] = strictness / figures.strictness_sd, noise / figures.log_noise_sd
    start = layout.model(theta).start
    slope[noises.stop :] = figures.start_counts * (layout.grades * start[:-1] - 1)
    of_start = -figures.start_counts * float(np.log(start).sum())
    return float((strictness**2).sum() + (noise**2).sum()) / 2 + of_start, slope


def _curvature(gradient: Callable[[Array], Array], theta: Array) -> Array:
    """Second derivatives by central differences of the gradient, made symmetric."""
    rows = []
    for i in range(theta.size):
        step = np.zeros_like(theta)
        step[i] = STEP
        rows.append((gradient(theta + step) - gradient(theta - step)) / (2 * STEP))
    whole = np.array(rows)
    return np.asarray((whole + whole.T) / 2)


def worse_within(model: Model, mix: Array, years: float) -> float:
    """Share of objects of this mix of true grades that are a grade or more worse within so many years."""
    stay = np.diag(chances(model.rates, np.array([years]))[0])
    return float(1 - mix @ stay)


def headline(fitted: Fit, histories: Histories, years: float, quantile: float) -> tuple[float, float, float]:
    """`worse_within` of the mix at the end, with limits by the delta method on the logit."""

    def logit(theta: Array) -> float:
        mix = fitted.layout.gradient(theta, histories)[2]
        share = worse_within(fitted.layout.model(theta), mix, years)
        return float(np.log(share / (1 - share)))

    middle = logit(fitted.theta)
    slope = np.array([(logit(fitted.theta + d) - middle) / STEP for d in np.eye(fitted.theta.size) * STEP])
    assert fitted.covariance is not None
    spread = quantile * float(np.sqrt(slope @ fitted.covariance @ slope))
    low, value, high = (1 / (1 + np.exp(-(middle + s))) for s in (-spread, 0.0, spread))
    return float(value), float(low), float(high)
