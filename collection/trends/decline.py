"""A hidden grade that moves one way, from good to the worst, at a constant rate out of each: chances over time.

Generator Q: -q_i on the diagonal, q_i to the right of it, last row 0; P(t) = exp(Q t) (continuous-time Markov chain).
"""

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
APART = 1e-5  # equal rates are shifted by this share, so that one spectral form holds
STEP = 1e-6  # of a logarithm, for derivatives


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
