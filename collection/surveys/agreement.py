"""Whether examiners agree: Krippendorff's alpha with missing cells, weighted kappa for two, and where they differ."""

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
NOMINAL, ORDINAL, INTERVAL = "nominal", "ordinal", "interval"
LINEAR, QUADRATIC = 1, 2  # powers of the distance between two grades


def alpha(grades: Array, categories: int, level: str = ORDINAL) -> float:
    """Krippendorff's alpha (Content Analysis, 2004): 1 agreement, 0 as by chance; not a number where it is not defined.

    grades : examiner x object, 0 to categories - 1, not a number where somebody did not grade.
    """
    pairs = _coincidences(grades, categories)
    n_c = pairs.sum(axis=1)
    n = n_c.sum()
    distance = _distance(n_c, level)
    expected = float((np.outer(n_c, n_c) * distance).sum())
    if n < 2 or not expected:
        return float("nan")
    return float(1 - (n - 1) * (pairs * distance).sum() / expected)


def _coincidences(grades: Array, categories: int) -> Array:
    """How often two grades were given to one object, each object weighed by how many graded it."""
    counts = np.stack([(grades == k).sum(axis=0) for k in range(categories)], axis=1).astype(np.float64)
    graded = counts.sum(axis=1)
    paired = counts[graded > 1] / np.sqrt(graded[graded > 1] - 1)[:, None]
    own = (counts[graded > 1] / (graded[graded > 1] - 1)[:, None]).sum(axis=0)
    return np.asarray(paired.T @ paired - np.diag(own))


def _distance(n_c: Array, level: str) -> Array:
    """Squared distance of two grades: 1, by how many lie between them, or of their numbers."""
    ranks = np.arange(n_c.size, dtype=np.float64)
    if level == NOMINAL:
        return np.asarray(ranks[:, None] != ranks[None, :], dtype=np.float64)
    if level == ORDINAL:
        ranks = np.cumsum(n_c) - n_c / 2
    return np.asarray((ranks[:, None] - ranks[None, :]) ** 2)


def weighted_kappa(table: Array, weights: Array) -> float:
    """Cohen's kappa (1968) of a table of numbers or shares, with weights of disagreement, 0 on the diagonal."""
    p = table / table.sum()
    chance = np.outer(p.sum(axis=1), p.sum(axis=0))
    expected = float((weights * chance).sum())
    return float(1 - (weights * p).sum() / expected) if expected else float("nan")


def kappa_weights(categories: int, power: int) -> Array:
    """Disagreement by the distance of two grades; power 0: any other grade counts alike."""
    distance = np.abs(np.subtract.outer(np.arange(categories), np.arange(categories))).astype(np.float64)
    return np.asarray(distance > 0, dtype=np.float64) if power == 0 else distance**power


def table_of(first: npt.ArrayLike, second: npt.ArrayLike, categories: int) -> Array:
    """How often one gave a grade (row) and the other one (column); all grades of the scale, used or not."""
    table = np.zeros((categories, categories))
    np.add.at(table, (np.asarray(first), np.asarray(second)), 1)
    return table
