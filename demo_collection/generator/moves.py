"""What changed its place: to a borrower and back, from shelf to shelf; one thing slipped from its tray."""

import random
from collections.abc import Iterator
from datetime import timedelta
from typing import Any

from demo_collection.generator.care import last_looks
from demo_collection.generator.collected import checked
from demo_collection.generator.items import Item, shelf
from demo_collection.generator.loans import OVER, travelling
from demo_collection.generator.museum import TODAY
from demo_collection.generator.places import room_of
from demo_collection.generator.truth import sorts, stream

Row = dict[str, Any]
Journey = tuple[Item, str, str, str, str, str, str]  # thing, day, from, to, reason, how it travelled, accident
TIDIED = 60
COLUMNS = ("moved_on", "moved_from", "moved_to", "reason", "packed", "accident")


def moves() -> Iterator[Row]:
    """Rows of record move, in order of days."""
    journeys = sorted([*_lent(), *_tidied()], key=lambda journey: journey[1])
    for number, (item, *told) in enumerate(journeys, start=1):
        named = dict(zip(COLUMNS, told, strict=True))
        yield {"move_id": f"M{number:03d}", "object_id": item.number, "part": "", "moved_by": "Marlow Tenby", **named}


def _lent() -> Iterator[Journey]:
    for item in travelling()[OVER]:
        yield item, "2023-03-28", item.home, "LOANS", "loan", "crated", ""
        yield item, "2023-10-06", "LOANS", item.home, "back from loan", "crated", ""


def _tidied() -> Iterator[Journey]:
    """Shelves put in order, three times in four before the last look."""
    chance = stream("moves")
    for place, item in enumerate(chance.sample(_movable(), TIDIED)):
        day = last_looks()[item.number]["checked_on"] + timedelta(_days(place, chance))
        if day < TODAY:
            origin = shelf({room_of(item.home): 1}, chance)
            slipped = place in (8, 9)
            told = ("slipped from the tray", "on_tray", "yes") if slipped else ("shelves put in order", "by_hand", "no")
            yield item, str(day), origin, item.home, *told


def _days(place: int, chance: random.Random) -> int:
    return chance.randint(-900, -40) if place % 4 else chance.randint(5, 60)


def _movable() -> list[Item]:
    ours = [t for t in checked() if t.status == "in_collection" and not t.missing and t.sort in sorts()]
    return [t for t in ours if t.number in last_looks()]
