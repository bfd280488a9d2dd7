"""Eleven years of rounds: which object is looked at when, how closely, in which survey and why."""

import random
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from demo_collection.generator.collected import checked
from demo_collection.generator.items import Item
from demo_collection.generator.museum import FIRST_DAY, TODAY
from demo_collection.generator.truth import stream

INSPECTION, SWEEP, EXAMINATION = "inspection", "sweep", "examination"


@dataclass(frozen=True, order=True)
class Visit:
    """One planned look at one object."""

    day: date
    number: str
    look: str
    occasion: str
    survey: str = ""
    visit: str = "examined"
    bench: str = ""


def planned() -> list[Visit]:
    """Every look that was planned, in order of days."""
    chance = stream("rounds")
    return sorted(v for item in checked() for v in [*_arrival(item), *_of(item, chance)] if v.day >= item.came_on)


def _arrival(item: Item) -> list[Visit]:
    """What came in these years was inspected on the day."""
    came = item.came_on > FIRST_DAY
    return [Visit(item.came_on, item.number, INSPECTION, "arrival")] if came else []


def _of(item: Item, chance: random.Random) -> Iterator[Visit]:
    unstable = item.group == "unstable_painted"
    shown = item.room in ("GA", "GW")
    rows = [
        ("S16", SWEEP, "round", (2016, 2, 1), 145, 0.6),
        ("S17", INSPECTION, "round", (2017, 2, 1), 250 if unstable else 660, 1.0),
        ("S19", INSPECTION, "round", (2019, 9, 2), 440, 0.75 if unstable else 0.35),
        ("S21", INSPECTION, "round", (2021, 3, 1), 540, 0.85),
        ("S23", INSPECTION, "climate_event", (2023, 1, 16), 130, 1.0 if item.room == "L2" else 0.0),
        ("S24", INSPECTION, "climate_event", (2024, 8, 5), 50, 0.96 if shown else 0.0),
        ("S26", INSPECTION, "round", (2025, 9, 1), 382, 0.0 if item.missing else 0.88),
    ]
    for survey, look, occasion, first, days, share in rows:
        if chance.random() < share:
            yield Visit(_weekday(date(*first) + timedelta(chance.randrange(days))), item.number, look, occasion, survey)
    yield _audit(item, chance)
    if shown:
        yield from (
            Visit(_weekday(date(y, 5, 6)), item.number, SWEEP, "round", "", "through_glass") for y in (2018, 2020, 2023)
        )
    if unstable:
        yield from _half_years(item, chance)


def _audit(item: Item, chance: random.Random) -> Visit:
    visit = "not_found" if item.missing else "not_reachable" if chance.random() < 0.015 else "examined"
    day = _weekday(date(2025, 2, 3) + timedelta(chance.randrange(140)))
    return Visit(day, item.number, SWEEP, "audit", "S25", visit)


def _half_years(item: Item, chance: random.Random) -> Iterator[Visit]:
    """Unstable glass was to be seen every half year, and more or less was."""
    for half in range(2 * 2018, 2 * 2026 + 2):
        day = _weekday(date(half // 2, 3 if half % 2 == 0 else 9, 1 + chance.randrange(20)))
        if chance.random() < 0.5 and day < TODAY:
            yield Visit(day, item.number, INSPECTION, "follow_up")


def _weekday(day: date) -> date:
    return day - timedelta(max(0, day.weekday() - 4))
