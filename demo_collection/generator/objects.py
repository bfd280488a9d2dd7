"""The 640 objects as they truly are: drawn from the sorts, and the awkward ones; their parts, and who was looked at."""

import math
import random
from collections import Counter
from dataclasses import dataclass
from datetime import date
from functools import cache

from demo_collection.generator.chance import between, pick, stream
from demo_collection.generator.museum import FIRST_DAY, ON_SHOW, room_of, shelf
from demo_collection.generator.tables import Row, grouped, keyed, sorts, table

HANDS = keyed("hands", "hand", first_year=int, last_year=int, weight=int)
CHECKED, REMARK, NEVER = "checked", "remark", "never"
KNOWN_ONLY_BY_REMARK, NEVER_CHECKED = 60, 180
NOT_FOUND, STATUS_MISSING, FRAMED = 25, 10, 6
PARTS = grouped("copied/parts", "object_id")
SIGNS_FROM, SIGNS_TO = "L1", "L2"
AXES = ("height", "width", "depth", "diameter")
SMALL = ("cap_badge", "english_box", "plique_spoon", "dial", "mughal_pendant")
MASS_G_PER_MM2 = {"steel_sign": 0.0142, "cloisonne": 0.0062, "champleve": 0.0125, "guilloche": 0.0074, "": 0.0049}
PRESSING = {"unstable_painted": 0.3, "painted": 0.8, "chinese": 0.9, "steel_sign": 0.9}


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
    description: str = ""
    other_numbers: str = ""
    period: str = ""
    framed: bool = False
    missing: bool = False
    away: str = ""
    pieces: int | None = None

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
    def mass_g(self) -> int:
        """What it weighs: its enamelled area in metal, as thick as such things are."""
        return max(1, round(self.area_mm2 * MASS_G_PER_MM2[self.group if self.group in MASS_G_PER_MM2 else ""]))

    @property
    def parts(self) -> list[Row]:
        """Its parts, if it has more than one."""
        return PARTS.get(self.number, [])

    @property
    def enamel_parts(self) -> list[str]:
        """Parts that damage may be on."""
        return [p["part"] for p in self.parts if p["part_kind"] == "enamel"] or ["whole"]

    @property
    def area_mm2(self) -> float:
        """The enamelled area."""
        h, w, d, across = (self.mm.get(axis, 0.0) for axis in AXES)
        if self.shape == "box":
            return 2 * (h * w + h * d + w * d)
        if self.shape == "tall":
            return 0.8 * math.pi * across * h
        return h * w or (math.pi / 2 if self.shape == "round" else math.pi / 4) * across**2


@cache
def items() -> tuple[Item, ...]:
    """All 640 objects, in the order in which they were drawn."""
    chance, numbers, used = stream("objects"), stream("numbers"), Counter[int]()
    drawn = [_draw(name, its, chance, numbers, used) for name, its in sorts().items() for _ in range(its["count"])]
    _bring_signs_down(drawn)
    drawn += [_awkward(line) for line in table("awkward", year=int, points=float, pieces=int, thin_copper=bool)]
    _set_looked(drawn)
    _set_framed(drawn)
    _set_missing(drawn)
    return tuple(drawn)


def _bring_signs_down(drawn: list[Item]) -> None:
    """Signs are heavy: all that were drawn into the upper room of the Lower Store stand on the same shelf below."""
    for item in drawn:
        if item.group == "steel_sign" and item.room == SIGNS_FROM:
            item.home = item.home.replace(SIGNS_FROM, SIGNS_TO, 1)


def checked() -> list[Item]:
    """Those that somebody looked at."""
    return [t for t in items() if t.looked == CHECKED]


def _draw(sort: str, its: Row, chance: random.Random, numbers: random.Random, used: Counter[int]) -> Item:
    """One object of a sort."""
    hand = pick(chance, {name: line["weight"] for name, line in HANDS.items()})
    language = HANDS[hand]["language"]
    subject, name = chance.choice(its["subjects"]), its["names"][language]
    named = {"title": f"{name}, {subject}" if chance.random() < 0.85 else name, "kind_word": name}
    named |= {"number": _number(hand, numbers, used), "materials": its["materials"][language]}
    same = {key: its[key] for key in ("group", "culture", "shape", "provenance")}
    sizes = {"year": chance.randint(*its["years"]), "mm": {a: round(between(chance, e)) for a, e in its["mm"].items()}}
    item = Item(sort=sort, hand=hand, language=language, **named, **same, **sizes, home=shelf(its["homes"], chance))
    item.thin_copper = its.get("thin_copper", False)
    item.unstable, item.counter_enamel = _stability(its, chance), _reverse(item, chance)
    item.points = chance.choice(its["points"]) if chance.random() < 0.6 else None
    return item


def _number(hand: str, numbers: random.Random, used: Counter[int]) -> str:
    """An accession number in the manner of the hand; never the same twice."""
    year = numbers.randint(HANDS[hand]["first_year"], HANDS[hand]["last_year"])
    used[year] += 1
    if hand == "ledger":
        return f"VH {year % 100:02d}/{used[year]}"
    if hand == "bequest":
        return f"OB {used[year]}"
    return f"{year}.{used[year]:03d}" if hand in ("database", "recent") else f"{year}.{used[year]}"


def _stability(its: Row, chance: random.Random) -> str:
    if its["unstable"] == "known_unstable":
        return "known_unstable" if chance.random() < 0.7 else "suspected"
    return its["unstable"] if chance.random() < 0.4 else ""


def _reverse(item: Item, chance: random.Random) -> str:
    if not item.thin_copper or item.shape not in ("flat", "round"):
        return ""
    return chance.choice(["present", "present", "not_seen", ""])


def _awkward(line: Row) -> Item:
    """One of the awkward objects that every museum has."""
    mm = {axis: int(size) for axis in AXES if (size := line.pop(axis))}
    usual = {
        "sort": "awkward",
        "hand": "database",
        "language": "en",
        "kind_word": line["title"].split(",")[0],
        "mm": mm,
    }
    return Item(**usual, **{name: value for name, value in line.items() if value or name == "culture"})


def _set_looked(drawn: list[Item]) -> None:
    """Stores that are awkward to get into were left for later; show, known trouble and awkward objects came first."""
    chance = stream("looked")
    stored = [t for t in drawn if t.sort != "awkward" and t.room not in ON_SHOW]
    order = sorted(stored, key=lambda t: chance.random() * PRESSING.get(t.group, 1.3), reverse=True)
    for item in order[:NEVER_CHECKED]:
        item.looked = NEVER
    described = [t for t in order[NEVER_CHECKED:] if t.hand != "recent"]  # nobody remarks on condition in that file
    for item in described[:KNOWN_ONLY_BY_REMARK]:
        item.looked = REMARK


def _set_framed(drawn: list[Item]) -> None:
    plaques = [t for t in drawn if t.sort in ("limoges_early", "limoges_later") and t.looked == CHECKED]
    for item in plaques[::5][:FRAMED]:
        item.framed, item.counter_enamel = True, "not_seen"
        item.description = "In a sealed frame of the 1890s; the reverse has not been seen."


def _set_missing(drawn: list[Item]) -> None:
    chance = stream("not found")
    able = [t for t in drawn if t.sort in SMALL and t.looked == CHECKED and not t.parts]
    for place, item in enumerate(chance.sample(able, NOT_FOUND)):
        item.missing = True
        if place < STATUS_MISSING:
            item.status, item.away = "missing", "NF"
