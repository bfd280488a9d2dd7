"""What a sample says of the whole: by the way it was drawn, with limits, the number looked at and the method's name."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import ndtri

from collection.learning.limits import share_limits

Array = npt.NDArray[np.float64]
FEW = 5  # so many or fewer either way: exact limits
SIMPLE, STRATIFIED, CLUSTERS, TWO_STAGE = "simple", "stratified", "clusters by ratio", "two-stage by ratio"


@dataclass(frozen=True)
class Estimate:
    """A mean with its variance and limits. n : units looked at; method : by name; bound = two standard errors."""

    value: float
    variance: float
    low: float
    high: float
    n: int
    method: str

    @property
    def bound(self) -> float:
        """Two standard errors."""
        return float(2 * np.sqrt(self.variance))


def wilson(events: int, of: int, confidence: float) -> tuple[float, float]:
    """Limits of a share (Wilson 1927); 81 of 263 at .95: .2553 to .3662 (Newcombe 1998)."""
    z = float(ndtri((1 + confidence) / 2))
    middle = (events + z**2 / 2) / (of + z**2)
    half = z * np.sqrt(events * (of - events) / of + z**2 / 4) / (of + z**2)
    return max(0.0, middle - half), min(1.0, middle + half)


def share(events: int, of: int, confidence: float) -> Estimate:
    """A share of a simple sample: Wilson's limits, exact ones (Clopper and Pearson) where either side is small."""
    few = min(events, of - events) <= FEW
    low, high = share_limits(events, of, confidence) if few else wilson(events, of, confidence)
    p = events / of
    return Estimate(p, p * (1 - p) / of, low, high, of, "exact limits" if few else "Wilson's limits")


def share_of_design(p: float, variance: float, n: int, confidence: float, method: str) -> Estimate:
    """A share by any design, with limits on the logit; 0 and 1: exact limits of `n` units."""
    if not 0 < p < 1:
        low, high = share_limits(round(p * n), n, confidence)
        return Estimate(p, variance, low, high, n, f"{method}, exact limits")
    z = float(ndtri((1 + confidence) / 2))
    logit, spread = np.log(p / (1 - p)), z * np.sqrt(variance) / (p * (1 - p))
    low, high = (float(1 / (1 + np.exp(-(logit + s)))) for s in (-spread, spread))
    return Estimate(p, variance, low, high, n, f"{method}, limits on the logit")


def simple(values: Array, population: int, confidence: float) -> Estimate:
    """Mean of a simple random sample without replacement."""
    n = values.size
    variance = (1 - n / population) * float(values.var(ddof=1)) / n if n > 1 else float("nan")
    return _normal(float(values.mean()), variance, n, confidence, SIMPLE)


def stratified(strata: list[tuple[int, Array]], confidence: float) -> Estimate:
    """Sum of N_h mean_h/N; variance sum of N_h^2 (1 - n_h/N_h) s_h^2/n_h/N^2 (Scheaffer, Mendenhall and Ott, 5).

    strata : how many there are and the values looked at. One with a single value is joined to the one before it.
    """
    joined = _without_single(strata)
    total = sum(held for held, _ in joined)
    mean = sum(held * float(x.mean()) for held, x in joined) / total
    variance = sum(held**2 * (1 - x.size / held) * float(x.var(ddof=1)) / x.size for held, x in joined) / total**2
    n = sum(x.size for _, x in joined)
    joins = len(strata) - len(joined)
    method = f"{STRATIFIED}, {joins} strata with one unit joined to a neighbour" if joins else STRATIFIED
    return _normal(mean, variance, n, confidence, method)


def _without_single(strata: list[tuple[int, Array]]) -> list[tuple[int, Array]]:
    done: list[tuple[int, Array]] = []
    waiting: tuple[int, Array] | None = None
    for held, values in strata:
        here = (held, values) if waiting is None else (held + waiting[0], np.concatenate([waiting[1], values]))
        waiting = None
        if here[1].size > 1:
            done.append(here)
        elif done:
            before = done.pop()
            done.append((before[0] + here[0], np.concatenate([before[1], here[1]])))
        else:
            waiting = here
    if not done:
        raise ValueError("no stratum has two units that were looked at")
    return done


def clusters(totals: Array, sizes: Array, clusters_held: int, confidence: float) -> Estimate:
    """Mean by ratio sum(y)/sum(m) of whole clusters; m-bar is the mean of the sample (Scheaffer and others, 8)."""
    n, ratio = totals.size, float(totals.sum() / sizes.sum())
    residual = float(((totals - ratio * sizes) ** 2).sum() / (n - 1))
    variance = (1 - n / clusters_held) * residual / (n * float(sizes.mean()) ** 2)
    return _normal(ratio, variance, n, confidence, CLUSTERS)


def two_stage(samples: list[Array], sizes: Array, clusters_held: int, confidence: float) -> Estimate:
    """Mean by ratio of clusters of `sizes` of which each was looked at in part; between clusters, and within them."""
    n = len(samples)
    looked = np.array([x.size for x in samples], dtype=np.float64)
    means = np.array([float(x.mean()) for x in samples])
    within = np.array([float(x.var(ddof=1)) if x.size > 1 else 0.0 for x in samples])
    ratio = float((sizes * means).sum() / sizes.sum())
    middle = float(sizes.mean())
    between = float(((sizes * (means - ratio)) ** 2).sum() / (n - 1)) if n > 1 else float("nan")
    first = (1 - n / clusters_held) * between / (n * middle**2)
    second = float((sizes**2 * (1 - looked / sizes) * within / looked).sum()) / (n * clusters_held * middle**2)
    return _normal(ratio, first + second, int(looked.sum()), confidence, TWO_STAGE)


def _normal(value: float, variance: float, n: int, confidence: float, method: str) -> Estimate:
    half = float(ndtri((1 + confidence) / 2)) * np.sqrt(variance)
    return Estimate(value, variance, float(value - half), float(value + half), n, method)


def bounds(events: int, seen: int, drawn: int) -> tuple[float, float]:
    """Least and greatest share of all that were drawn, whatever those are that nobody could look at."""
    return events / drawn, (events + drawn - seen) / drawn
