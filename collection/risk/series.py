"""`log(1 + x)` and `exp(x) - 1`, which not every engine has: a series near 0, where the plain forms lose digits.

Give them a column that was worked out before: the series names it seven times.
"""

from collections.abc import Sequence
from math import factorial

import polars as pl

from collection.risk.namespace import Namespace

SMALL = 1e-3  # below this the terms left out are less than the last digit of a double; above it the plain forms keep 12
LOG_TERMS = [(-1) ** n / (n + 1) for n in range(5)]  # 1, -1/2, 1/3, ...
EXP_TERMS = [1 / factorial(n + 1) for n in range(5)]  # 1, 1/2, 1/6, ...
NEARLY_ALL = 1 - 2**-53  # the largest double below 1: log(1 - x) stays finite


def log1p(xp: Namespace, x: pl.Expr) -> pl.Expr:
    """Natural logarithm of 1 + x, for x > -1."""
    return xp.when(x.abs() < SMALL).then(_series(x, LOG_TERMS)).otherwise((1 + x).log())


def expm1(xp: Namespace, x: pl.Expr) -> pl.Expr:
    """e to the x, less 1."""
    return xp.when(x.abs() < SMALL).then(_series(x, EXP_TERMS)).otherwise(x.exp() - 1)


def log_left(xp: Namespace, gone: pl.Expr) -> pl.Expr:
    """Logarithm of what is left when the share `gone` (0 to 1) is lost; 1 is taken as the double below it."""
    return log1p(xp, -xp.min_horizontal(gone, xp.lit(NEARLY_ALL)))


def _series(x: pl.Expr, terms: Sequence[float]) -> pl.Expr:
    """x times the sum of terms[n] x to the n."""
    value: pl.Expr | float = terms[-1]
    for term in reversed(terms[:-1]):
        value = term + x * value
    return x * value
