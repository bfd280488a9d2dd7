"""Grades as a hidden state: how it declines over time, what an examiner writes of it, and a mix of grades carried on.

Decline moves one way, from good to the worst, at a constant rate out of each grade. Generator Q: -q_i on the diagonal,
q_i to the right of it, last row 0; P(t) = exp(Q t) (continuous-time Markov chain).

Of a true grade s an examiner writes P(written <= g | s) = Phi((g + 1/2 - s - delta)/sigma). delta > 0: the examiner
grades worse than the yardstick, by so many grades; sigma: how far one grading strays [grades].
"""

import numpy as np
import numpy.typing as npt
import polars as pl
from scipy.stats import norm

Array = npt.NDArray[np.float64]
APART = 1e-5  # equal rates are shifted by this share, so that one spectral form holds
STEP = 1e-6  # of a logarithm, for derivatives
HALF = 0.5  # the border between two grades


def chances(rates: Array, years: Array) -> Array:
    """P(t): years x state x state, for rates q [1/year] out of each state but the last."""
    q = np.append(_apart(rates), 0.0)
    vectors = _vectors(q)
    decayed = np.exp(-np.multiply.outer(years, q))
    both: Array = np.einsum("ik,tk,kj->tij", vectors, decayed, np.linalg.inv(vectors))
    return np.clip(both, 0.0, 1.0)


def chances_slopes(rates: Array, years: Array) -> Array:
    """Derivative of P(t) by ln q of each state: rate x years x state x state."""
    slopes = []
    for state in range(rates.size):
        up, down = rates.copy(), rates.copy()
        up[state] *= np.exp(STEP)
        down[state] *= np.exp(-STEP)
        slopes.append((chances(up, years) - chances(down, years)) / (2 * STEP))
    return np.array(slopes)


def _apart(rates: Array) -> Array:
    """The rates, each at least a little from those before it and from 0."""
    apart = np.maximum(rates.astype(np.float64), np.finfo(np.float64).tiny ** 0.5)
    for i in range(1, apart.size):
        while np.any(np.abs(apart[i] / apart[:i] - 1) < APART):
            apart[i] *= 1 + 2 * APART
    return apart


def _vectors(q: Array) -> Array:
    """Right eigenvectors of the bidiagonal generator as columns: v_i = v_(i+1) q_i / (q_i - q_k) above the diagonal."""
    vectors = np.eye(q.size)
    for k in range(q.size):
        for i in range(k - 1, -1, -1):
            vectors[i, k] = vectors[i + 1, k] * q[i] / (q[i] - q[k])
    return vectors


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


def project(mix: Array, matrix: Array, steps: int) -> Array:
    """Objects of each grade after so many steps of equal length; 0 steps are today's mix.

    matrix : chance from each grade (row) to each grade (column). ValueError where a row does not add up to 1, as it
    does not in a matrix with rows and columns exchanged.
    """
    sums = matrix.sum(axis=1)
    if not np.allclose(sums, 1.0):
        raise ValueError(f"rows of the matrix add up to {', '.join(f'{s:.4g}' for s in sums)}, not to 1")
    return np.asarray(mix @ np.linalg.matrix_power(matrix, steps))


def step_matrix(table: pl.DataFrame) -> Array | str:
    """Chances by the counts of schema TRANSITIONS, all over one equal span; or why there are none.

    A grade nobody began with says nothing of where it goes.
    """
    counts = table.sort("grade", "end_grade")["objects"].to_numpy().astype(np.float64)
    square = counts.reshape(table["grade"].n_unique(), -1)
    of = square.sum(axis=1, keepdims=True)
    empty = [grade for grade, n in enumerate(of[:, 0]) if not n]
    if empty:
        return f"{len(empty)} of {len(square)} grades were nobody's at the start, so nothing is known of where they go"
    return np.asarray(square / of)
