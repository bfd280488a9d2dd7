"""Old repairs of every kind that museums find, the coating campaign of the 1970s, and how they age."""

import random
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from itertools import cycle, islice

from demo_collection.generator.chance import between, poisson, stream
from demo_collection.generator.damage import REPAIR_LOSS, SIDES, VISIBILITY, WORSENS, YEAR_DAYS, Damage, Tally
from demo_collection.generator.objects import Item, checked
from demo_collection.generator.tables import Row, keyed, rates, row, table, words

STATES = ("sound", "ageing", "failing", "failed")
COATED, CAMPAIGN = 14, "1974"
LEAST_MM2 = 1.0  # of a loss that anybody would see
EARLY = ("ledger", "cards", "german", "french")  # hands of what was in the house by then
VARIOUS, VARNISHED = 118, 20
MATERIALS = table("repair_materials", functions=words, decades=words)
SIGNS = keyed("repair_signs", "state", signs=words)


@dataclass
class Repair:
    """One repair as it truly is."""

    item: Item
    part: str
    function: str
    material: str
    done_on: str
    state: str
    area_mm2: float
    colour_match: str = ""
    certainty: str = "observed"
    treatment: str = ""
    born: date | None = None
    coating: bool = False
    side: str = ""
    harmed_share: float = 0.0
    number: str = ""
    closed_on: date | None = None
    removed_by: str = ""

    @property
    def harmed_mm2(self) -> float:
        """Area where it does harm, once it does."""
        return round(self.harmed_share * self.area_mm2)


def old_repairs() -> dict[str, list[Repair]]:
    """Object number to the repairs it came with."""
    chance = stream("repairs")
    by_object: dict[str, list[Repair]] = {}
    for number, repair in enumerate([*_campaign(chance), *_various(chance), *_varnished(chance)]):
        its = stream(f"repair {number}")
        repair.side, repair.harmed_share = its.choice(SIDES[repair.item.shape]["sides"]), between(its, [0.05, 0.25])
        by_object.setdefault(repair.item.number, []).append(repair)
    return by_object


def _campaign(chance: random.Random) -> Iterator[Repair]:
    """A polyurethane coating put on fourteen painted enamels in one season."""
    flat = [t for t in checked() if t.shape == "flat" and not t.parts and t.hand in EARLY]
    able = [t for t in flat if t.group in ("unstable_painted", "painted")]
    for item in chance.sample(sorted(able, key=lambda t: (t.group != "unstable_painted", t.number))[:24], COATED):
        state = chance.choice(["ageing", "failing", "failing", "harmful"])
        area = round(between(stream(f"coat {item.number}"), [0.3, 0.95]) * item.area_mm2)
        coat = (item, "whole", "covers", "polyurethane", CAMPAIGN, state, area)
        yield Repair(*coat, certainty="documented", coating=True)


def _various(chance: random.Random) -> Iterator[Repair]:
    """Fills, joins and tints of each material in turn."""
    able = [t for t in checked() if t.group not in ("badge", "steel_sign") and t.provenance != "burial"]
    for its in islice(cycle(MATERIALS), VARIOUS):
        item, state = chance.choice(able), chance.choices(STATES, weights=[6, 5, 1, 0.25])[0]
        function = chance.choice(its["functions"])
        area = between(chance, [0.015, 0.07]) * item.area_mm2 if function == "holds" else between(chance, [20, 300])
        part, done_on = chance.choice(item.enamel_parts), chance.choice(its["decades"])
        certainty = chance.choice(["observed", "observed", "tested"])
        described = (its["material"], done_on, state, round(area), its["colour_match"], certainty)
        yield Repair(item, part, function, *described)


def _varnished(chance: random.Random) -> Iterator[Repair]:
    """Varnish and wax that owners and dealers put on to make enamels shine."""
    groups = ("painted", "champleve", "guilloche")
    able = [t for t in checked() if t.group in groups and t.sort != "limoges_later" and not t.parts]
    for item in chance.sample(able, VARNISHED):
        material, done_on = chance.choice(["natural_resin", "coating_wax"]), chance.choice(["1890", "1925", "1947"])
        state, share = chance.choice(["sound", "ageing", "ageing", "ageing"]), between(chance, [0.35, 0.8])
        yield Repair(item, "whole", "covers", material, done_on, state, round(share * item.area_mm2))


def age(repair: Repair, start: date, end: date, chance: random.Random, tally: Tally) -> list[Damage]:
    """Let a repair get worse between two days, and cost what it costs meanwhile: the losses that came.

    The coating of the campaign turns harmful where others fail.
    """
    left, losses = (end - start).days / YEAR_DAYS, []
    while left > 0 and repair.state in STATES[:-1]:
        place = STATES.index(repair.state)
        mean = rates()["repair"][repair.material][place]
        wait = chance.expovariate(1 / mean)
        spent, happens = min(wait, left), wait < left
        losses += _losses(repair, spent, chance, tally)
        tally.add(WORSENS, repair.material, repair.state, spent / mean, int(happens))
        if happens:
            repair.state = "harmful" if repair.coating and place == 2 else STATES[place + 1]
        left -= spent
    return losses + _losses(repair, max(left, 0.0), chance, tally)


def _losses(repair: Repair, years: float, chance: random.Random, tally: Tally) -> list[Damage]:
    """Original enamel that goes with a repair over some years in one state: crumbs of the rim, pieces nobody finds."""
    its = rates()["repair_loss"].get(repair.function, {}).get(repair.state)
    if its is None or years <= 0:
        return []
    mean = years / its["years"]
    count = poisson(chance, mean)
    tally.add(REPAIR_LOSS, repair.function, repair.state, mean, count)
    whole = repair.harmed_mm2 if repair.state == "harmful" else repair.area_mm2
    size = max(its["share"] * whole, LEAST_MM2)
    lost = (repair.item, repair.part, repair.side, "loss")
    return [Damage(*lost, active=False, size=size, old=False) for _ in range(count)]


def repair_row(repair: Repair) -> Row:
    """Row of record repair."""
    fills = {"level": "flush", "colour_match": repair.colour_match} if repair.function == "fills" else {}
    seen_from = VISIBILITY.get(repair.side, "side")
    return row("repair", fills | _documents(repair), repair, visibility=seen_from)


def _documents(repair: Repair) -> Row:
    """What is documented of a repair of our own time and of the campaign; nothing of the others."""
    if repair.treatment:
        dissolves = {"soluble_in": "acetone", "soluble_in_basis": "documented"}
        return {"done_by": "the museum's bench", "documented": f"treatment {repair.treatment}", **dissolves}
    if not repair.coating:
        return {}
    reason = "barrier coating as advised at the time (work ledger 1974)"
    covers = {"covers_original": "yes", "covers_original_reason": reason}
    return {"done_by": "coating campaign, contractor", "documented": "work ledger 1974", **covers}
