"""How damage comes and moves on, drawn from the true rates: new damage, waking, calming, loss, in continuous time."""

import math
import random
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from demo_collection.generator.items import Item
from demo_collection.generator.truth import between, pick, poisson, rates

YEAR, LINE_MM = 365.25, 4
MOST_AT_FIRST = 0.5  # share of the enamel that one damage takes at most when it comes
NEW, WAKES, LOSS, WORSENS = "new damage", "activation", "loss", "repair worsens"
ORDINARY = "ordinary"


@dataclass
class SimulatedDamage:
    """One damage as it truly is. `size` in mm² or mm."""

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
    last: dict[str, Any] = field(default_factory=dict)

    @property
    def share(self) -> float:
        """Share of the enamel it takes up; a line is as broad as what it can take with it."""
        breadth = LINE_MM if self.its["measure"] == "length" else 1
        return min(self.size * breadth / self.item.area_mm2, 1.0)

    @property
    def its(self) -> dict[str, Any]:
        """The true rates of its kind."""
        its: dict[str, Any] = rates()["kind"][self.kind]
        return its


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


def old_damage(item: Item, chance: random.Random) -> list[SimulatedDamage]:
    """What was there before the register began; what came out of the ground is weathered and almost empty."""
    if item.provenance == "burial":
        return [_buried(item, kind, share) for kind, share in (("loss", 0.8), ("weathering", 0.15))]
    mean = rates()["old"][item.group]
    weights = {kind: math.sqrt(rate) for kind, rate in rates()["new"][item.group].items()}
    return [_wound(item, pick(chance, weights), chance, old=True) for _ in range(poisson(chance, mean))]


def new_damage(item: Item, start: date, end: date, chance: random.Random, tally: Tally) -> list[SimulatedDamage]:
    """New damage between two inspections; planted events raise its rate while they last."""
    found = []
    for kind, rate in rates()["new"][item.group].items():
        for cause, years, times, added in _windows(item, kind, start, end):
            ordinary = rate * years
            extra = ordinary * (times - 1) + added * years
            for name, mean in ((ORDINARY, ordinary), (cause, extra)):
                count = poisson(chance, mean) if mean > 0 else 0
                tally.add(NEW, kind, name, max(mean, 0.0), count) if mean > 0 else None
                found += [_wound(item, kind, chance, old=False, event=name) for _ in range(count)]
    return found


def evolve(wound: SimulatedDamage, start: date, end: date, chance: random.Random, tally: Tally) -> None:
    """Let a damage wake, lose and calm between two days."""
    if wound.flaw:
        return
    for cause, years, times, _ in _windows(wound.item, wound.kind, start, end):
        _evolve(wound, years, times, cause, chance, tally)


def _evolve(
    wound: SimulatedDamage, years: float, times: float, cause: str, chance: random.Random, tally: Tally
) -> None:
    its, left = wound.its, years
    while left > 0:
        wakes = its["wakes"] * times
        rate = its["calms"] + 1 / its["years"] if wound.active else wakes
        wait = chance.expovariate(rate) if rate else left
        spent = min(wait, left)
        happens = wait < left
        if wound.active:
            loses = happens and chance.random() < (1 / its["years"]) / rate
            tally.add(LOSS, wound.kind, ORDINARY, spent / its["years"], int(loses))
            if loses:
                wound.size = min(wound.size * (1 + its["step"]), wound.item.area_mm2)
                wound.losses += 1
            elif happens:
                wound.active = False
        else:
            tally.add(WAKES, wound.kind, cause, wakes * spent, int(happens))
            wound.active = wound.active or happens
        left -= spent


def _windows(item: Item, kind: str, start: date, end: date) -> Iterator[tuple[str, float, float, float]]:
    """Pieces of an interval with the cause, the years, how many times the rate, and what is added to it."""
    cuts = sorted(
        {start, end, *(d for e in rates()["event"].values() for d in (e["from"], e["until"]) if start < d < end)}
    )
    for first, last in zip(cuts, cuts[1:], strict=False):
        cause, times, added = _at(item, kind, first)
        yield cause, (last - first).days / YEAR, times, added


def _at(item: Item, kind: str, day: date) -> tuple[str, float, float]:
    for name, event in rates()["event"].items():
        if not (event["from"] <= day < event["until"] and item.room in event["rooms"]):
            continue
        if event.get("thin_copper") and not item.thin_copper:
            continue
        times = event.get("new_times", {}).get(item.group, 1.0) if kind in event.get("kinds", ()) else 1.0
        added = event.get("added", {}).get(kind, 0.0)
        if times != 1.0 or added:
            return name, times, added
    return ORDINARY, 1.0, 0.0


def _buried(item: Item, kind: str, share: float) -> SimulatedDamage:
    return SimulatedDamage(item, "whole", "front", kind, active=False, size=share * item.area_mm2, old=True)


CAUSES = {"l2_damp": "humidity", "gallery_heat": "temperature"}
SIDES = {
    "flat": ["front", "front", "edge"],
    "flat_round": ["front", "front", "edge"],
    "round": ["interior", "exterior", "edge"],
    "tall": ["exterior", "exterior", "top", "base"],
    "box": ["top", "front", "left", "interior"],
}


def _wound(item: Item, kind: str, chance: random.Random, *, old: bool, event: str = ORDINARY) -> SimulatedDamage:
    its = rates()["kind"][kind]
    flaw = old and kind in ("crack", "abrasion") and chance.random() < 0.06
    return SimulatedDamage(
        item,
        chance.choice(item.enamel_parts),
        chance.choice(SIDES[item.shape]),
        kind,
        active=chance.random() < its["old_active" if old else "active"] and not flaw,
        size=min(between(chance, its["size"]), MOST_AT_FIRST * item.area_mm2),
        old=old,
        flaw=flaw,
        cause=CAUSES.get(event, ""),
        stage=chance.randint(*its["stages"]) if "stages" in its else None,
    )
