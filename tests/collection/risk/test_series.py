"""The series agree with the standard library to the last digits, in both engines."""

import math

import duckdb
import narwhals as nw
import polars as pl
import pytest

from collection.risk.series import expm1, log1p, log_left

POINTS = [0.0, 1e-300, 1e-12, 1e-8, 9.99e-6, 1e-5, 1e-4, 9.99e-4, 1e-3, 1e-2, 0.1, 0.5, 0.999]


@pytest.mark.parametrize("engine", ["polars", "duckdb"])
@pytest.mark.parametrize("sign", [1, -1])
def test_the_series_agree_with_the_standard_library(engine, sign):
    frame = pl.DataFrame({"x": [sign * x for x in POINTS]})
    lazy = nw.from_native(frame.lazy() if engine == "polars" else duckdb.from_arrow(frame.to_arrow()))

    told = lazy.select("x", log=log1p(nw.col("x")), exp=expm1(nw.col("x"))).collect("polars").to_native().sort("x")

    for x, log, exp in told.iter_rows():
        assert log == pytest.approx(math.log1p(x), rel=5e-13, abs=0)
        assert exp == pytest.approx(math.expm1(x), rel=5e-13, abs=0)


def test_everything_lost_stays_finite():
    frame = nw.from_native(pl.DataFrame({"x": [1.0]}))

    assert frame.select(log=log_left(nw.col("x")))["log"].item() == pytest.approx(math.log(2**-53))
