"""The air of six rooms, hour by hour where loggers recorded it, as daily means before; both events stand in it."""

import csv
import io
import math
import random
from collections.abc import Iterator, Mapping
from datetime import date, datetime, time, timedelta

from demo_collection.generator.chance import stream
from demo_collection.generator.museum import FIRST_DAY, ROOMS, TODAY

FILES = {
    "climate_2016_2023.csv": (date(2016, 1, 1), date(2024, 1, 1)),
    "climate_2024_2026.csv": (date(2024, 1, 1), date(2027, 1, 1)),
}
HOURLY_SPANS = ((datetime(2022, 9, 1), datetime(2022, 12, 1)), (datetime(2024, 6, 1), datetime(2024, 9, 1)))
HOURLY_FROM = datetime(2024, 8, 1)  # the last 26 months
DAMP = (datetime(2022, 10, 3), datetime(2022, 12, 19))  # the air handling of L2 stood still
HEAT = (datetime(2024, 7, 15), datetime(2024, 7, 29))  # blinds open on the warm side
YEAR_HOURS = 365.25 * 24
COLUMNS = ("celsius", "celsius_year", "celsius_day", "percent", "percent_year", "percent_day")
# Mean, yearly swing (wet late summer) and daily swing of each room.
AIR: Mapping[str, tuple[float, ...]] = {room: tuple(float(its[c]) for c in COLUMNS) for room, its in ROOMS.items()}


def moments() -> Iterator[datetime]:
    """Times of reading: noon of a day where only daily means were recorded, every hour after and round the events."""
    first, days = datetime.combine(FIRST_DAY, time()), (TODAY - FIRST_DAY).days + 1
    every_hour = (first + timedelta(hours=n) for n in range(24 * days))
    return (moment for moment in every_hour if hourly(moment) or moment.hour == 12)


def hourly(moment: datetime) -> bool:
    """Readings of this time were recorded hour by hour."""
    return moment >= HOURLY_FROM or any(a <= moment < b for a, b in HOURLY_SPANS)


def readings(first: date, last: date) -> str:
    """CSV of the readings from one day to before another: time UTC, then °C and % of each room."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    headings = [f"{its['logger']} {unit}" for its in ROOMS.values() for unit in ("°C", "%RH")]
    writer.writerow(["read_at_utc", *headings])
    chance, drift = stream(f"climate {first}"), {room: [0.0, 0.0] for room in AIR}
    for moment in moments():
        if first <= moment.date() < last:
            values = [v for room in AIR for v in _reading(room, moment, drift[room], chance)]
            writer.writerow([moment.isoformat(timespec="minutes"), *values])
    return out.getvalue()


def _reading(room: str, moment: datetime, drift: list[float], chance: random.Random) -> tuple[str, str]:
    warm, yearly, daily, damp, wet, swing = AIR[room]
    hours = (moment - datetime(2016, 1, 1)).total_seconds() / 3600
    season = math.cos(2 * math.pi * (hours / YEAR_HOURS - 0.56))
    day = math.cos(2 * math.pi * (moment.hour - 15) / 24) if hourly(moment) else 0.0
    drift[0] = 0.97 * drift[0] + chance.gauss(0, 0.05)
    drift[1] = 0.97 * drift[1] + chance.gauss(0, 0.12)
    celsius = warm + yearly * season + daily * day + drift[0] + _heat(room, moment, day)
    percent = damp + wet * season - swing * day + drift[1] + _damp(room, moment) - 1.2 * _heat(room, moment, day)
    return f"{celsius:.1f}", f"{min(max(percent, 18.0), 92.0):.1f}"


def _heat(room: str, moment: datetime, day: float) -> float:
    if not HEAT[0] <= moment < HEAT[1] or room not in ("GA", "GW"):
        return 0.0
    return (6.8 + 3.2 * day) if room == "GW" else (2.8 + 1.0 * day)


def _damp(room: str, moment: datetime) -> float:
    """L2 fills up in a fortnight, and dries for two months after the repair."""
    if room != "L2" or moment < DAMP[0]:
        return 0.0
    filled = 27.0 * (1 - math.exp(-(min(moment, DAMP[1]) - DAMP[0]).days / 12))
    after = max((moment - DAMP[1]).days, 0)
    return filled * math.exp(-after / 40)
