"""The series agree with the standard library to the last digits, in both engines."""

import math

import polars as pl
import pytest

from collection.risk.namespace import POLARS, namespace
from collection.risk.series import expm1, log1p, log_left
from collection.store.engines import DuckDBEngine, PolarsEngine

POINTS = [0.0, 1e-300, 1e-12, 1e-8, 9.99e-6, 1e-5, 1e-4, 9.99e-4, 1e-3, 1e-2, 0.1, 0.5, 0.999]


@pytest.mark.parametrize("engine", [PolarsEngine(), DuckDBEngine()], ids=lambda e: e.name)
@pytest.mark.parametrize("sign", [1, -1])
def test_the_series_agree_with_the_standard_library(engine, sign):
    points = engine.to_lazy({"points": pl.DataFrame({"x": [sign * x for x in POINTS]})})["points"]
    xp = namespace(points)

    figures = engine.collect(points.select("x", log=log1p(xp, xp.col("x")), exp=expm1(xp, xp.col("x"))))

    assert figures.height == len(POINTS)
    for x, log, exp in figures.iter_rows():
        assert log == pytest.approx(math.log1p(x), rel=5e-13, abs=0)
        assert exp == pytest.approx(math.expm1(x), rel=5e-13, abs=0)


def test_everything_lost_stays_finite():
    frame = pl.DataFrame({"x": [1.0]})

    assert frame.select(log=log_left(POLARS, pl.col("x")))["log"].item() == pytest.approx(math.log(2**-53))
