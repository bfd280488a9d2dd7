"""What an examiner writes of an object's true grade: P(written <= g | true s) = Phi((g + 1/2 - s - delta)/sigma).

delta > 0: the examiner grades worse than the yardstick, by so many grades; sigma: how far one grading strays [grades].
"""

import numpy as np
import numpy.typing as npt
from scipy.stats import norm

Array = npt.NDArray[np.float64]
HALF = 0.5  # the border between two grades


def written(strictness: float, noise: float, grades: int) -> Array:
    """Chance of each written grade (column) of each true one (row)."""
    below = norm.cdf(_borders(strictness, noise, grades))
    return np.diff(below, axis=1, prepend=0.0, append=1.0)


def written_slopes(strictness: float, noise: float, grades: int) -> tuple[Array, Array]:
    """Derivatives of `written` by the strictness and by the logarithm of the noise."""
    borders = _borders(strictness, noise, grades)
    density = norm.pdf(borders)
    by_strictness = np.diff(-density / noise, axis=1, prepend=0.0, append=0.0)
    by_log_noise = np.diff(-density * borders, axis=1, prepend=0.0, append=0.0)
    return by_strictness, by_log_noise


def _borders(strictness: float, noise: float, grades: int) -> Array:
    """Standardised borders above all grades but the worst, by true grade."""
    true, border = np.arange(grades)[:, None], np.arange(grades - 1)[None, :] + HALF
    return np.asarray((border - true - strictness) / noise, dtype=np.float64)
