"""The invented museum: its days, its people, its rooms and shelves."""

import random
from datetime import date

from demo_collection.generator.chance import pick
from demo_collection.generator.tables import keyed, table

TODAY = date(2026, 9, 30)
FIRST_DAY = date(2016, 1, 4)
ROOMS = keyed("rooms", "room", units=int)
SHELVES = 4
ON_SHOW = ("GA", "GW")
NAMES = {person["person_id"]: person["name"] for person in table("copied/people")}
STRICT, CONSERVATOR, BENCH, KEEPER = NAMES["EF"], NAMES["LA"], NAMES["PS"], NAMES["OB"]
CONSERVATOR_CAME, BENCH_CAME = date(2022, 3, 2), date(2019, 2, 2)
EXAMINERS = table("examiners", first_day=date.fromisoformat, last_day=date.fromisoformat, turns=int)


def examiner_in(day: date, turn: float) -> str:
    """Who looks on a day; `turn` between 0 and 1 decides among those in the house."""
    here = [e["person_id"] for e in EXAMINERS if e["first_day"] <= day <= e["last_day"] for _ in range(e["turns"])]
    return NAMES[here[min(int(turn * len(here)), len(here) - 1)]]


def treats_in(day: date) -> str:
    """Who works at the treatment bench on a day."""
    if day >= CONSERVATOR_CAME:
        return CONSERVATOR
    return BENCH if day >= BENCH_CAME else NAMES["IH"]


def room_of(location_id: str) -> str:
    """The room a place lies in."""
    return location_id.split("-")[0]


def shelf(rooms: dict[str, float], chance: random.Random) -> str:
    """A shelf in one of the rooms. `rooms`: room to its weight."""
    room = pick(chance, rooms)
    return f"{room}-{chance.randint(1, ROOMS[room]['units'])}-{chance.randint(1, SHELVES)}"
