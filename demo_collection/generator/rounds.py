"""Eleven years of rounds: which object is looked at when, how closely, in which survey and why."""

import random
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from demo_collection.generator.chance import stream
from demo_collection.generator.museum import FIRST_DAY, ON_SHOW, TODAY
from demo_collection.generator.objects import Item, checked
from demo_collection.generator.tables import Row, rates, table

INSPECTION, SWEEP, EXAMINATION = "inspection", "sweep", "examination"
NUMBERS = {"days": int, "days_unstable": int, "share": float, "share_unstable": float}
ROUNDS = table("rounds", starts_on=date.fromisoformat, **NUMBERS)
AUDIT_FROM, AUDIT_DAYS, NOT_REACHABLE = date(2025, 2, 3), 140, 0.015
THROUGH_GLASS_IN = (2018, 2020, 2023)


@dataclass(frozen=True, order=True)
class Visit:
    """One planned look at one object. `bench`: the look at the start or the end of a treatment."""

    day: date
    number: str
    look: str
    occasion: str
    survey: str = ""
    visit: str = "examined"
    bench: str = ""


def planned() -> list[Visit]:
    """Every look that was planned, in order of days."""
    each = ((item, stream(f"rounds {rates()['years']} {item.number}")) for item in checked())
    return sorted(v for item, chance in each for v in _visits(item, chance) if v.day >= item.came_on)


def _visits(item: Item, chance: random.Random) -> Iterator[Visit]:
    unstable, shown = item.group == "unstable_painted", item.room in ON_SHOW
    of_group = "_unstable" if unstable else ""
    if item.came_on > FIRST_DAY:
        yield Visit(item.came_on, item.number, INSPECTION, "arrival")
    for its in ROUNDS:
        if chance.random() < (its[f"share{of_group}"] if _belongs(item, its) else 0.0):
            day = _weekday(its["starts_on"] + timedelta(chance.randrange(its[f"days{of_group}"])))
            yield Visit(day, item.number, its["look"], its["occasion"], its["survey"])
    yield _audit(item, chance)
    if shown:
        for year in THROUGH_GLASS_IN:
            yield Visit(_weekday(date(year, 5, 6)), item.number, SWEEP, "round", visit="through_glass")
    if unstable:
        yield from _half_years(item, chance)


def _belongs(item: Item, its: Row) -> bool:
    """Some rounds are for a room, for what is on show, or for what is there at all."""
    only = {"in L2": item.room == "L2", "on show": item.room in ON_SHOW, "not missing": not item.missing}
    return only.get(its["only"], True)


def _audit(item: Item, chance: random.Random) -> Visit:
    visit = "not_found" if item.missing else "not_reachable" if chance.random() < NOT_REACHABLE else "examined"
    day = _weekday(AUDIT_FROM + timedelta(chance.randrange(AUDIT_DAYS)))
    return Visit(day, item.number, SWEEP, "audit", "S25", visit)


def _half_years(item: Item, chance: random.Random) -> Iterator[Visit]:
    """Unstable glass was to be seen every half year, and more or less was."""
    for half in range(2 * 2018, 2 * 2026 + 2):
        day = _weekday(date(half // 2, 3 if half % 2 == 0 else 9, 1 + chance.randrange(20)))
        if chance.random() < 0.5 and day < TODAY:
            yield Visit(day, item.number, INSPECTION, "follow_up")


def _weekday(day: date) -> date:
    return day - timedelta(max(0, day.weekday() - 4))
