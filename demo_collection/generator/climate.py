"""The air of six places, hour by hour where loggers kept it, as daily means before; both events stand in it."""

import csv
import io
import math
import random
from collections.abc import Iterator
from datetime import date, datetime, timedelta

from demo_collection.generator.museum import FIRST_DAY, LOGGERS, TODAY
from demo_collection.generator.truth import stream

HOURLY_SPANS = ((datetime(2022, 9, 1), datetime(2022, 12, 1)), (datetime(2024, 6, 1), datetime(2024, 9, 1)))
HOURLY_FROM = datetime(2024, 8, 1)  # the last 26 months
# mean °C, yearly swing, daily swing; mean %, yearly swing (wet late summer), daily swing
AIR = {
    "E1": (18.5, 1.2, 0.3, 42.3, 1.2, 0.4),
    "E2": (18.9, 1.8, 0.4, 44.5, 2.5, 0.7),
    "L1": (17.2, 1.6, 0.3, 47.0, 3.5, 0.8),
    "L2": (17.0, 1.5, 0.3, 43.6, 2.2, 0.6),
    "GA": (20.6, 2.2, 1.0, 46.5, 4.0, 1.8),
    "GW": (21.4, 2.8, 1.9, 45.5, 4.5, 2.5),
}
DAMP = (datetime(2022, 10, 3), datetime(2022, 12, 19))  # the air handling of L2 stood still
HEAT = (datetime(2024, 7, 15), datetime(2024, 7, 29))  # blinds open on the warm side
YEAR_H = 365.25 * 24


def moments() -> Iterator[datetime]:
    """Times of reading: noon of a day while only daily means were kept, every hour after and round the events."""
    moment = datetime(FIRST_DAY.year, FIRST_DAY.month, FIRST_DAY.day)
    end = datetime(TODAY.year, TODAY.month, TODAY.day, 23)
    while moment <= end:
        if hourly(moment) or moment.hour == 12:
            yield moment
        moment += timedelta(hours=1)


def hourly(moment: datetime) -> bool:
    """Readings of this time were kept hour by hour."""
    return moment >= HOURLY_FROM or any(a <= moment < b for a, b in HOURLY_SPANS)


def table(first: date, last: date) -> str:
    """CSV of the readings from one day to before another: time UTC, then °C and % of each place."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(["read_at_utc", *(f"{logger} {unit}" for logger in LOGGERS.values() for unit in ("°C", "%RH"))])
    chance = stream(f"climate {first}")
    drift = {place: [0.0, 0.0] for place in AIR}
    for moment in moments():
        if first <= moment.date() < last:
            values = [v for place in LOGGERS for v in _reading(place, moment, drift[place], chance)]
            writer.writerow([moment.isoformat(timespec="minutes"), *values])
    return out.getvalue()


def _reading(place: str, moment: datetime, drift: list[float], chance: random.Random) -> tuple[str, str]:
    warm, yearly, daily, damp, wet, swing = AIR[place]
    hours = (moment - datetime(2016, 1, 1)).total_seconds() / 3600
    season = math.cos(2 * math.pi * (hours / YEAR_H - 0.56))
    day = math.cos(2 * math.pi * (moment.hour - 15) / 24) if hourly(moment) else 0.0
    drift[0] = 0.97 * drift[0] + chance.gauss(0, 0.05)
    drift[1] = 0.97 * drift[1] + chance.gauss(0, 0.12)
    celsius = warm + yearly * season + daily * day + drift[0] + _heat(place, moment, day)
    percent = damp + wet * season - swing * day + drift[1] + _damp(place, moment) - 1.2 * _heat(place, moment, day)
    return f"{celsius:.1f}", f"{min(max(percent, 18.0), 92.0):.1f}"


def _heat(place: str, moment: datetime, day: float) -> float:
    if not HEAT[0] <= moment < HEAT[1] or place not in ("GA", "GW"):
        return 0.0
    return (6.8 + 3.2 * day) if place == "GW" else (2.8 + 1.0 * day)


def _damp(place: str, moment: datetime) -> float:
    """L2 fills up in a fortnight, and dries for two months after the repair."""
    if place != "L2" or moment < DAMP[0]:
        return 0.0
    filled = 27.0 * (1 - math.exp(-(min(moment, DAMP[1]) - DAMP[0]).days / 12))
    after = max((moment - DAMP[1]).days, 0)
    return filled * math.exp(-after / 40)
