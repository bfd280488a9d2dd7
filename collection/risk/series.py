"""`log(1 + x)` and `exp(x) - 1` for Narwhals, which has neither: a series near 0, where the plain forms lose digits."""

import narwhals as nw

SMALL = 1e-5  # below this three terms of the series are exact to the last digit of a double (next term: 2.5e-16 of it)
NEARLY_ALL = 1 - 2**-53  # the largest double below 1: log(1 - x) stays finite


def log1p(x: nw.Expr) -> nw.Expr:
    """Natural logarithm of 1 + x, for x > -1."""
    series = x * (1 - x * (1 / 2 - x / 3))
    return nw.when(x.abs() < SMALL).then(series).otherwise((1 + x).log())


def expm1(x: nw.Expr) -> nw.Expr:
    """e to the x, less 1."""
    series = x * (1 + x * (1 / 2 + x / 6))
    return nw.when(x.abs() < SMALL).then(series).otherwise(x.exp() - 1)


def log_left(gone: nw.Expr) -> nw.Expr:
    """Logarithm of what is left when the share `gone` (0 to 1) is lost; 1 is taken as the double below it."""
    return log1p(-nw.min_horizontal(gone, nw.lit(NEARLY_ALL)))
