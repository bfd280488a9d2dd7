"""Which readings lie beyond the limits that a group of hazards answers to."""

import polars as pl

from collection.risk.parameters import Limit, Response


def with_rise(hours: pl.DataFrame, rise_hours: int) -> pl.DataFrame:
    """Adds temperature_rise_24h: °C above the lowest of the last so many hours; `hours`: schema HOURS."""
    lowest = pl.col("temperature_c").rolling_min_by("hour", window_size=f"{rise_hours}h").over("location_id")
    return hours.sort("location_id", "hour").with_columns(temperature_rise_24h=pl.col("temperature_c") - lowest)


def limits_of(response: Response) -> list[tuple[Limit, str, bool]]:
    """Each limit there is, the column it is of, and whether what is above it lies beyond."""
    sides = (
        (response.rh_low, "rh_percent", False),
        (response.rh_high, "rh_percent", True),
        (response.temperature_high, "temperature_c", True),
        (response.temperature_rise_24h, "temperature_rise_24h", True),
    )
    return [(its, name, above) for its, name, above in sides if its is not None]
