"""Dew point, humidity at surfaces and the seasonal band against tables and pure waves."""

import numpy as np
import polars as pl
import pytest

from collection.climate.air import dew_point_c, saturation_hpa, surface_rh_percent
from collection.climate.parameters import readings
from collection.climate.seasonal import Band, centred_mean, seasonal_band

T, U, S = pl.col("t"), pl.col("u"), pl.col("s")


def one(expression: pl.Expr, **values: float) -> float:
    return pl.DataFrame({k: [float(v)] for k, v in values.items()}).select(expression).item()


@pytest.mark.parametrize(
    ("t", "u", "dew"),
    [(20, 50, 9.255), (18, 42, 4.886), (22, 55, 12.541), (25, 60, 16.693), (15, 75, 10.602), (5, 80, 1.834)],
)
def test_dew_point(t, u, dew):
    """Magnus formula of WMO no. 8, annex 4.B, computed apart; PsychroLib 2.5 differs by 0.03 °C at most."""
    assert one(dew_point_c(T, U), t=t, u=u) == pytest.approx(dew, abs=5e-4)


@pytest.mark.parametrize(("t", "u", "s", "rh"), [(20, 50, 15, 68.538), (20, 42, 16, 54.000), (22, 55, 14, 90.928)])
def test_humidity_at_a_colder_surface(t, u, s, rh):
    assert one(surface_rh_percent(T, U, S), t=t, u=u, s=s) == pytest.approx(rh, abs=5e-4)


@pytest.mark.parametrize(("t", "pascal"), [(5, 872.6), (25, 3169.7), (50, 12351.3)])
def test_saturation_near_the_handbook(t, pascal):
    """ASHRAE Handbook Fundamentals 2017, chapter 1, table 3; Magnus keeps to it within 0.3 % here."""
    assert 100 * one(saturation_hpa(T), t=t) == pytest.approx(pascal, rel=4e-3)


def test_dry_air_has_no_dew_point_and_nothing_is_wetter_than_wet():
    assert one(dew_point_c(T, U), t=20, u=0) is None
    assert one(surface_rh_percent(T, U, S), t=20, u=90, s=5) == 100


def waves(daily: float, months: float = 13, yearly: float = 10) -> np.ndarray:
    hours = np.arange(int(months * 365.25 / 12 * 24) + 24)
    return 50 + yearly * np.sin(2 * np.pi * hours / 8766) + daily * np.sin(2 * np.pi * hours / 24)


def test_a_daily_wave_of_5_takes_the_least_band_and_one_of_12_its_own():
    """A sine's 7th and 93rd percentiles lie at -+.975917 of its amplitude: 4.876 and 11.628 (computed)."""
    quiet, wild = (seasonal_band(waves(a), readings()) for a in (5, 12))

    assert isinstance(quiet, Band)
    assert (quiet.low, quiet.high, quiet.own) == (-10, 10, False)
    assert wild.own
    assert (wild.low, wild.high) == pytest.approx((-11.628, 11.628), abs=0.02)


def test_the_mean_of_30_days_flattens_the_year_by_one_per_cent():
    """sin(x)/x at x = 30 pi/365.25: .98894; 59.896 at most and 40.104 at least."""
    band = seasonal_band(waves(5, months=25), readings())

    assert (band.lowest, band.highest) == pytest.approx((40.104, 59.896), abs=0.02)


def test_a_mean_has_no_ends():
    mean = centred_mean(np.arange(10.0), 5)

    assert np.isnan(mean[[0, 1, 8, 9]]).all()
    assert mean[2:8] == pytest.approx(np.arange(2.0, 8.0))


def test_what_was_not_measured_long_enough_is_refused():
    short = seasonal_band(waves(5, months=12), readings())
    holes = waves(5)
    holes[::10] = np.nan

    assert short.startswith("cannot be worked out: 12 months")
    assert seasonal_band(holes, readings()) == "cannot be worked out: 10 % of the hours are missing"
