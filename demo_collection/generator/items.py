"""The objects of the invented museum as they truly are; how cataloguers wrote them down is `catalogue_words`."""

import math
import random
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from demo_collection.generator.museum import FIRST_DAY, UNITS
from demo_collection.generator.places import SHELVES, room_of
from demo_collection.generator.truth import between, pick, sorts, stream

# Accession hands: first and last year of accession, language, how they number and measure.
HANDS = {
    "ledger": (1931, 1955, "en"),
    "cards": (1956, 1974, "en"),
    "german": (1956, 1961, "de"),
    "french": (1962, 1968, "fr"),
    "dutch": (1969, 1974, "nl"),
    "typed": (1975, 1992, "en"),
    "database": (1993, 2019, "en"),
    "bequest": (1984, 1984, "sv"),
    "recent": (2020, 2025, "en"),
}
HAND_WEIGHTS = {
    "ledger": 21,
    "cards": 17,
    "german": 8,
    "french": 8,
    "dutch": 5,
    "typed": 19,
    "database": 16,
    "bequest": 4,
    "recent": 5,
}
CHECKED, REMARK, NEVER = "checked", "remark", "never"
KNOWN_ONLY_BY_REMARK, NEVER_CHECKED = 60, 180


@dataclass
class Item:
    """One object. `looked`: checked, known by a remark only, or never looked at."""

    number: str
    sort: str
    group: str
    title: str
    hand: str
    language: str
    materials: str
    kind_word: str
    culture: str
    year: int
    shape: str
    mm: dict[str, float]
    home: str
    thin_copper: bool = False
    unstable: str = ""
    provenance: str = ""
    counter_enamel: str = ""
    points: float | None = None
    status: str = "in_collection"
    owner: str = ""
    looked: str = CHECKED
    remark: str = ""
    remark_on: str = ""
    description: str = ""
    other_numbers: str = ""
    period: str = ""
    framed: bool = False
    missing: bool = False
    away: str = ""
    parts: list[tuple[Any, ...]] = field(default_factory=list)
    items: int | None = None

    @property
    def room(self) -> str:
        """The room it lives in."""
        return room_of(self.home)

    @property
    def came_on(self) -> date:
        """The day it came into the house, as far as that falls into the register's years."""
        if self.status == "loan_in":
            return date(2026, 3, 2)
        year = int(self.number[:4]) if self.hand in ("database", "recent") and self.number[:4].isdigit() else 0
        return date(year, 6, 15) if year >= FIRST_DAY.year else FIRST_DAY

    @property
    def enamel_parts(self) -> list[str]:
        """Parts that damage may be on."""
        return [p[0] for p in self.parts if p[1] == "enamel"] or ["whole"]

    @property
    def area_mm2(self) -> float:
        """The enamelled area."""
        h, w, d, across = (self.mm.get(axis, 0.0) for axis in ("height", "width", "depth", "diameter"))
        if self.shape == "box":
            return 2 * (h * w + h * d + w * d)
        if self.shape == "tall":
            return 0.8 * math.pi * across * h
        return h * w or (math.pi / 2 if self.shape == "round" else math.pi / 4) * across**2


def ordinary() -> list[Item]:
    """All objects of the sorts, in order of sort."""
    chance = stream("objects")
    numbers = _Numbers(stream("numbers"))
    return [_one(name, its, chance, numbers) for name, its in sorts().items() for _ in range(its["count"])]


class _Numbers:
    """Accession numbers as each hand gives them; never the same twice."""

    def __init__(self, chance: random.Random) -> None:
        self.chance, self.used = chance, {}

    def next(self, hand: str) -> str:
        first, last, _ = HANDS[hand]
        year = self.chance.randint(first, last)
        self.used[year] = self.used.get(year, 0) + 1
        running = self.used[year]
        if hand == "ledger":
            return f"VH {year % 100:02d}/{running}"
        if hand == "bequest":
            return f"OB {running}"
        if hand in ("database", "recent"):
            return f"{year}.{running:03d}"
        return f"{year}.{running}"


def _one(sort: str, its: dict[str, Any], chance: random.Random, numbers: _Numbers) -> Item:
    hand = pick(chance, HAND_WEIGHTS)
    language = HANDS[hand][2]
    subject, name = chance.choice(its["subjects"]), its["names"][language]
    return Item(
        number=numbers.next(hand),
        sort=sort,
        group=its["group"],
        hand=hand,
        language=language,
        title=f"{name}, {subject}" if chance.random() < 0.85 else name,
        materials=its["materials"][language],
        kind_word=name,
        culture=its["culture"],
        year=chance.randint(*its["years"]),
        shape=its["shape"],
        mm={axis: round(between(chance, ends)) for axis, ends in its["mm"].items()},
        home=shelf(its["homes"], chance),
        thin_copper=its.get("thin_copper", False),
        unstable=_stability(its, chance),
        provenance=its["provenance"],
        counter_enamel=_reverse(its, chance),
        points=chance.choice(its["points"]) if chance.random() < 0.6 else None,
    )


def shelf(homes: dict[str, float], chance: random.Random) -> str:
    """A shelf in one of the rooms."""
    room = pick(chance, homes)
    return f"{room}-{chance.randint(1, UNITS[room])}-{chance.randint(1, SHELVES)}"


def _stability(its: dict[str, Any], chance: random.Random) -> str:
    if its["unstable"] == "known_unstable":
        return "known_unstable" if chance.random() < 0.7 else "suspected"
    return its["unstable"] if chance.random() < 0.4 else ""


def _reverse(its: dict[str, Any], chance: random.Random) -> str:
    if not its.get("thin_copper") or its["shape"] not in ("flat", "round"):
        return ""
    return chance.choice(["present", "present", "not_seen", ""])
