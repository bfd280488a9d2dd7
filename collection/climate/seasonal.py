"""The seasonal band of a place, for organic mounts and cores only: EN 15757:2010 as its users describe it.

The text of the standard was not read: centred mean over 30 days, fluctuations about it, their 7th and 93rd percentile.
Apart from `air`, so that a command on the store starts without numpy.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from collection.climate.parameters import Readings

Array = npt.NDArray[np.float64]
HOURS_A_DAY, DAYS_A_MONTH = 24, 365.25 / 12


@dataclass(frozen=True)
class Band:
    """low, high : fluctuation about the seasonal mean [% relative humidity]; own: they are the place's own percentiles,
    else the least band. lowest, highest : of the seasonal mean.
    """

    low: float
    high: float
    own: bool
    lowest: float
    highest: float


def seasonal_band(rh_percent: Array, figures: Readings) -> Band | str:
    """The band of hourly readings in order, a missing hour not a number; or why it cannot be told."""
    months = rh_percent.size / HOURS_A_DAY / DAYS_A_MONTH
    if months < figures.seasonal_months:
        return f"cannot be worked out: {int(months)} months of hourly readings, {figures.seasonal_months} are needed"
    missing = float(np.isnan(rh_percent).mean())
    if missing > figures.seasonal_gaps:
        return f"cannot be worked out: {100 * missing:.0f} % of the hours are missing"
    mean = centred_mean(rh_percent, figures.seasonal_days * HOURS_A_DAY + 1)
    about = rh_percent - mean
    low, high = np.nanpercentile(about, figures.seasonal_percentiles)
    own = bool(max(-low, high) > figures.seasonal_least)
    least = figures.seasonal_least
    ends = float(np.nanmin(mean)), float(np.nanmax(mean))
    return Band(float(low), float(high), own, *ends) if own else Band(-least, least, own, *ends)


def centred_mean(values: Array, points: int) -> Array:
    """Mean of so many points around each (an odd number); not a number where they do not all lie within the row."""
    known = ~np.isnan(values)
    sums, counts = (
        np.convolve(x, np.ones(points), "valid") for x in (np.where(known, values, 0.0), known.astype(float))
    )
    mean = np.full(values.size, np.nan)
    half = points // 2
    mean[half : values.size - half] = sums / np.maximum(counts, 1)
    return mean
