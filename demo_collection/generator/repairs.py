"""Old repairs of every kind that museums find, the coating campaign of the 1970s, and how they age."""

import random
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from itertools import cycle, islice

from demo_collection.generator.chance import between, stream
from demo_collection.generator.damage import WORSENS, YEAR_DAYS, Tally
from demo_collection.generator.objects import Item, checked
from demo_collection.generator.tables import Row, keyed, rates, row, table, words

STATES = ("sound", "ageing", "failing", "failed")
COATED, CAMPAIGN = 14, "1974"
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
    number: str = ""
    closed_on: date | None = None
    removed_by: str = ""


def old_repairs() -> dict[str, list[Repair]]:
    """Object number to the repairs it came with."""
    chance = stream("repairs")
    by_object: dict[str, list[Repair]] = {}
    for repair in [*_campaign(chance), *_various(chance), *_varnished(chance)]:
        by_object.setdefault(repair.item.number, []).append(repair)
    return by_object


def _campaign(chance: random.Random) -> Iterator[Repair]:
    """A polyurethane coating put on fourteen painted enamels in one season."""
    flat = [t for t in checked() if t.shape == "flat" and not t.parts and t.hand in EARLY]
    able = [t for t in flat if t.group in ("unstable_painted", "painted")]
    for item in chance.sample(sorted(able, key=lambda t: (t.group != "unstable_painted", t.number))[:24], COATED):
        state, area = chance.choice(["ageing", "failing", "failing", "harmful"]), round(0.7 * item.area_mm2)
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


def age(repair: Repair, start: date, end: date, chance: random.Random, tally: Tally) -> None:
    """Let a repair get worse between two days; the coating of the campaign turns harmful where others fail."""
    left = (end - start).days / YEAR_DAYS
    while left > 0 and repair.state in STATES[:-1]:
        place = STATES.index(repair.state)
        mean = rates()["repair"][repair.material][place]
        wait = chance.expovariate(1 / mean)
        spent, happens = min(wait, left), wait < left
        tally.add(WORSENS, repair.material, repair.state, spent / mean, int(happens))
        if happens:
            repair.state = "harmful" if repair.coating and place == 2 else STATES[place + 1]
        left -= spent


def repair_row(repair: Repair) -> Row:
    """Row of record repair."""
    fills = {"level": "flush", "colour_match": repair.colour_match} if repair.function == "fills" else {}
    seen_from = "face" if repair.colour_match == "plain" or repair.function == "holds" else "side"
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
