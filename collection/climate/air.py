"""What the air of a place was: percentiles by month, rise and span within a day, dew point and colder surfaces.

Dew point and humidity at a surface are expressions: Magnus formula over water, WMO no. 8, annex 4.B.
"""

from dataclasses import dataclass

import polars as pl

from collection.frames import returns

FACTOR, PER_DEGREE, AT_ZERO = 17.62, 243.12, 6.112  # the formula's: no unit, °C, hPa
PERCENT = 100
PERCENTILES = {"p5": 0.05, "p50": 0.50, "p95": 0.95}
BY_MONTH = pl.Schema(
    {"location_id": pl.String(), "month": pl.Date(), "quantity": pl.String()}
    | dict.fromkeys(PERCENTILES, pl.Float64())
    | {"days": pl.UInt32(), "hours": pl.UInt32()}
)
WITHIN_DAY = pl.Schema(
    {"location_id": pl.String(), "quantity": pl.String(), "hours": pl.UInt32()}
    | dict.fromkeys(("rise_largest", "rise_p95", "span_largest", "span_p50", "span_p95"), pl.Float64())
)
QUANTITIES = ("rh_percent", "temperature_c")
c = pl.col


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


@returns(BY_MONTH)
def by_month(hours: pl.DataFrame) -> pl.DataFrame:
    """5th, 50th and 95th percentile (linear) of the hourly means of each month and place, schema BY_MONTH [°C, %]."""
    month = c("hour").dt.truncate("1mo").cast(pl.Date).alias("month")
    long = hours.unpivot(on=QUANTITIES, index=["location_id", "hour"], variable_name="quantity", value_name="value")
    counted = long.drop_nulls("value").group_by("location_id", month, "quantity").agg(
        *(c("value").quantile(share, "linear").alias(name) for name, share in PERCENTILES.items()),
        days=c("hour").dt.date().n_unique(),
        hours=pl.len(),
    )  # fmt: skip
    return counted.select(c(n).cast(t) for n, t in BY_MONTH.items()).sort("location_id", "quantity", "month")


@returns(WITHIN_DAY)
def within_day(hours: pl.DataFrame, span_hours: int) -> pl.DataFrame:
    """Rise (a value less the lowest of the last 24 h) and span (highest less lowest) by place, schema WITHIN_DAY."""
    window = f"{span_hours}h"
    ordered = hours.sort("location_id", "hour")
    parts = [_of_day(ordered.drop_nulls(name), name, window) for name in QUANTITIES]
    return pl.concat(parts).sort("location_id", "quantity")


def _of_day(rows: pl.DataFrame, name: str, window: str) -> pl.DataFrame:
    lowest, highest = (
        getattr(c(name), f"rolling_{end}_by")("hour", window).over("location_id") for end in ("min", "max")
    )
    moved = rows.select("location_id", rise=c(name) - lowest, span=highest - lowest)
    counted = moved.group_by("location_id").agg(
        hours=pl.len(),
        rise_largest=c("rise").max(),
        rise_p95=c("rise").quantile(PERCENTILES["p95"], "linear"),
        span_largest=c("span").max(),
        span_p50=c("span").quantile(PERCENTILES["p50"], "linear"),
        span_p95=c("span").quantile(PERCENTILES["p95"], "linear"),
    )
    return counted.with_columns(quantity=pl.lit(name)).select(c(n).cast(t) for n, t in WITHIN_DAY.items())


@dataclass(frozen=True)
class Surface:
    """A surface colder than the air: how damp the air is at it [%], the share of days on which water condenses there,
    and the highest dew point of the air [°C]; `days` measured."""

    at_c: float
    median_rh: float
    wet_share: float
    highest_dew_c: float
    days: int


def at_surface(hours: pl.DataFrame, surface_c: float) -> Surface | None:
    """What the air of one place does at a surface of this temperature; None where nobody measured both."""
    both = hours.drop_nulls(list(QUANTITIES))
    if both.is_empty():
        return None
    t, u = c("temperature_c"), c("rh_percent")
    each = both.select(
        day=c("hour").dt.date(), rh=surface_rh_percent(t, u, pl.lit(surface_c)), dew=dew_point_c(t, u)
    ).with_columns(wet=c("dew") >= surface_c)
    wet = each.group_by("day").agg(c("wet").mean())
    rh, dew = each.select(c("rh").median(), c("dew").max()).row(0)
    return Surface(surface_c, float(rh), float(wet.select(c("wet").mean()).item()), float(dew), wet.height)
