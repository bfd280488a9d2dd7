"""Dew point and humidity at a colder surface, as expressions (Magnus formula over water, WMO no. 8, annex 4.B)."""

import polars as pl

FACTOR, PER_DEGREE, AT_ZERO = 17.62, 243.12, 6.112  # the formula's: no unit, °C, hPa
PERCENT = 100


def dew_point_c(temperature_c: pl.Expr, rh_percent: pl.Expr) -> pl.Expr:
    """Dew point [°C]; 20 °C and 50 %: 9.255. Null where the air is quite dry."""
    gamma = (rh_percent / PERCENT).log() + FACTOR * temperature_c / (PER_DEGREE + temperature_c)
    return pl.when(rh_percent > 0).then(PER_DEGREE * gamma / (FACTOR - gamma))


def saturation_hpa(temperature_c: pl.Expr) -> pl.Expr:
    """Vapour pressure of saturated air [hPa]."""
    return AT_ZERO * (FACTOR * temperature_c / (PER_DEGREE + temperature_c)).exp()


def surface_rh_percent(temperature_c: pl.Expr, rh_percent: pl.Expr, surface_c: pl.Expr) -> pl.Expr:
    """Relative humidity at a surface of another temperature [%]; 20 °C and 50 % on 15 °C: 68.538. Not above 100."""
    return (rh_percent * saturation_hpa(temperature_c) / saturation_hpa(surface_c)).clip(upper_bound=PERCENT)
