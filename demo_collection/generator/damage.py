"""How damage comes and moves on, drawn from the true rates: new damage, waking, calming, loss, in continuous time."""

import math
import random
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date

from demo_collection.generator.chance import between, pick, poisson
from demo_collection.generator.objects import Item
from demo_collection.generator.tables import Row, keyed, rates, row, words

YEAR_DAYS, LINE_MM = 365.25, 4
MOST_AT_FIRST = 0.5  # share of the enamel that one damage takes at most when it comes
NEW, WAKES, LOSS, WORSENS = "new damage", "activation", "loss", "repair worsens"
REPAIR_LOSS = "loss from a repair"
ORDINARY = "ordinary"
CAUSES = {"l2_damp": "humidity", "gallery_heat": "temperature"}
SIDES = keyed("sides", "shape", sides=words)
VISIBILITY = {"base": "hidden", "reverse": "hidden", "interior": "hidden", "front": "face", "top": "face"}


@dataclass
class Damage:
    """One damage as it truly is. `size` in mm² or mm; `last`: the last line written of it."""

    item: Item
    part: str
    side: str
    kind: str
    active: bool
    size: float
    old: bool
    cause: str = ""
    number: str = ""
    first_seen: date | None = None
    flaw: bool = False
    stage: int | None = None
    closed_on: date | None = None
    closed_by: str = ""
    losses: int = 0
    last: Row = field(default_factory=dict)

    @property
    def rates(self) -> Row:
        """The true rates of its kind."""
        return rates()["kind"][self.kind]

    @property
    def share(self) -> float:
        """Share of the enamel it takes up; a line is as broad as what it can take with it."""
        breadth = LINE_MM if self.rates["measure"] == "length" else 1
        return min(self.size * breadth / self.item.area_mm2, 1.0)

    @property
    def moving(self) -> bool:
        """Last written down as active or suspected."""
        return self.last.get("activity") in ("active", "suspected")


@dataclass
class Tally:
    """Events expected from the true rates over the exposure there was, and drawn: by what, kind and cause."""

    expected: dict[tuple[str, str, str], float] = field(default_factory=dict)
    drawn: dict[tuple[str, str, str], int] = field(default_factory=dict)

    def add(self, what: str, kind: str, cause: str, expected: float, drawn: int) -> None:
        """Count some exposure and what it brought."""
        key = (what, kind, cause)
        self.expected[key] = self.expected.get(key, 0.0) + expected
        self.drawn[key] = self.drawn.get(key, 0) + drawn


def old_damage(item: Item, chance: random.Random) -> list[Damage]:
    """What was there before the register began; what came out of the ground is weathered and almost empty."""
    if item.provenance == "burial":
        shares = {"loss": 0.8, "weathering": 0.15}
        dry = {"active": False, "old": True}
        return [Damage(item, "whole", "front", kind, size=s * item.area_mm2, **dry) for kind, s in shares.items()]
    weights = {kind: math.sqrt(rate) for kind, rate in rates()["new"][item.group].items()}
    count = poisson(chance, rates()["old"][item.group])
    return [_draw(item, pick(chance, weights), chance, old=True) for _ in range(count)]


def new_damage(item: Item, start: date, end: date, chance: random.Random, tally: Tally) -> list[Damage]:
    """New damage between two inspections; planted events raise its rate while they last."""
    new = []
    for kind, rate in rates()["new"][item.group].items():
        for cause, years, times, added in _windows(item, kind, start, end):
            ordinary = rate * years
            for name, mean in ((ORDINARY, ordinary), (cause, ordinary * (times - 1) + added * years)):
                if mean > 0:
                    count = poisson(chance, mean)
                    tally.add(NEW, kind, name, mean, count)
                    new += [_draw(item, kind, chance, old=False, event=name) for _ in range(count)]
    return new


def _draw(item: Item, kind: str, chance: random.Random, *, old: bool, event: str = ORDINARY) -> Damage:
    its = rates()["kind"][kind]
    flaw = old and kind in ("crack", "abrasion") and chance.random() < 0.06
    part, side = chance.choice(item.enamel_parts), chance.choice(SIDES[item.shape]["sides"])
    active = chance.random() < its["old_active" if old else "active"] and not flaw
    size = min(between(chance, its["size"]), MOST_AT_FIRST * item.area_mm2)
    stage = chance.randint(*its["stages"]) if "stages" in its else None
    return Damage(item, part, side, kind, active, size, old, CAUSES.get(event, ""), flaw=flaw, stage=stage)


def evolve(damage: Damage, start: date, end: date, chance: random.Random, tally: Tally) -> None:
    """Let a damage wake, lose and calm between two days."""
    if not damage.flaw:
        for cause, years, times, _ in _windows(damage.item, damage.kind, start, end):
            _evolve(damage, years, damage.rates["wakes"] * times, cause, chance, tally)


def _evolve(damage: Damage, left: float, wakes: float, cause: str, chance: random.Random, tally: Tally) -> None:
    """The same over some years in which its rate of waking stays."""
    its = damage.rates
    while left > 0:
        rate = its["calms"] + 1 / its["years"] if damage.active else wakes
        wait = chance.expovariate(rate) if rate else left
        spent, happens = min(wait, left), wait < left
        if damage.active:
            loses = happens and chance.random() < (1 / its["years"]) / rate
            tally.add(LOSS, damage.kind, ORDINARY, spent / its["years"], int(loses))
            damage.size = min(damage.size * (1 + its["step"]), damage.item.area_mm2) if loses else damage.size
            damage.losses += loses
            damage.active = loses or not happens
        else:
            tally.add(WAKES, damage.kind, cause, wakes * spent, int(happens))
            damage.active = happens
        left -= spent


def _windows(item: Item, kind: str, start: date, end: date) -> Iterator[tuple[str, float, float, float]]:
    """Pieces of an interval with the cause, the years, how many times the rate, and what is added to it."""
    turns = (day for event in rates()["event"].values() for day in (event["from"], event["until"]))
    cuts = sorted({start, end, *(day for day in turns if start < day < end)})
    for first, last in zip(cuts, cuts[1:], strict=False):
        cause, times, added = _event_on(item, kind, first)
        yield cause, (last - first).days / YEAR_DAYS, times, added


def _event_on(item: Item, kind: str, day: date) -> tuple[str, float, float]:
    """The planted event that this kind of damage of an object feels on a day."""
    for name, event in rates()["event"].items():
        here = event["from"] <= day < event["until"] and item.room in event["rooms"]
        if not here or (event.get("thin_copper") and not item.thin_copper):
            continue
        times = event.get("new_times", {}).get(item.group, 1.0) if kind in event.get("kinds", ()) else 1.0
        added = event.get("added", {}).get(kind, 0.0)
        if times != 1.0 or added:
            return name, times, added
    return ORDINARY, 1.0, 0.0


def damage_row(damage: Damage) -> Row:
    """Row of record damage."""
    values = {"onset": "before_register" if damage.old else "since_last_look"}
    values |= {"origin": "manufacture"} if damage.flaw else {}
    values |= {"cause_certainty": "likely" if damage.cause else ""}
    return row("damage", values, damage, visibility=VISIBILITY.get(damage.side, "side"))
