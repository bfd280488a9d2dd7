"""`log(1 + x)` and `exp(x) - 1` for Narwhals, which has neither: a series near 0, where the plain forms lose digits.

Give them a column that was worked out before: the series names it seven times, and Narwhals translates what it names
anew each time.
"""

from collections.abc import Callable, Mapping, Sequence
from math import factorial
from typing import Any

import narwhals as nw
import polars as pl

SMALL = 1e-3  # below this the terms left out are less than the last digit of a double; above it the plain forms keep 12
LOG_TERMS = [(-1) ** n / (n + 1) for n in range(5)]  # 1, -1/2, 1/3, ...
EXP_TERMS = [1 / factorial(n + 1) for n in range(5)]  # 1, 1/2, 1/6, ...
NEARLY_ALL = 1 - 2**-53  # the largest double below 1: log(1 - x) stays finite


def log1p(x: nw.Expr) -> nw.Expr:
    """Natural logarithm of 1 + x, for x > -1."""
    return nw.when(x.abs() < SMALL).then(_series(x, LOG_TERMS)).otherwise((1 + x).log())


def expm1(x: nw.Expr) -> nw.Expr:
    """e to the x, less 1."""
    return nw.when(x.abs() < SMALL).then(_series(x, EXP_TERMS)).otherwise(x.exp() - 1)


def log_left(gone: nw.Expr) -> nw.Expr:
    """Logarithm of what is left when the share `gone` (0 to 1) is lost; 1 is taken as the double below it."""
    return log1p(-nw.min_horizontal(gone, nw.lit(NEARLY_ALL)))


def _series(x: nw.Expr, terms: Sequence[float]) -> nw.Expr:
    """x times the sum of terms[n] x to the n."""
    *rest, total = terms
    value: nw.Expr | float = total
    for term in reversed(rest):
        value = term + x * value
    return x * value


Lazy = nw.LazyFrame[Any]
LazyFrames = Mapping[str, Lazy]
Hold = Callable[[Lazy], Lazy]


def as_it_is(frame: Lazy) -> Lazy:
    """A frame that is read several times, worked out each time."""
    return frame


def in_memory(frame: Lazy) -> Lazy:
    """A Polars frame that is read several times, worked out once."""
    native: pl.LazyFrame = frame.to_native()
    return nw.from_native(native.collect(engine="in-memory").lazy())
