"""Old repairs of every kind that museums find, the coating campaign of the 1970s, and how they age."""

import random
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from demo_collection.generator.collected import checked
from demo_collection.generator.histories import WORSENS, YEAR, Tally
from demo_collection.generator.items import Item
from demo_collection.generator.truth import between, rates, stream

STATES = ("sound", "ageing", "failing", "failed")
COATED, CAMPAIGN = 14, "1974"
EARLY = ("ledger", "cards", "german", "french")  # hands of what was in the house by then
OTHER_REPAIRS, VARNISHED = 118, 20
# material: functions it is met in, decades it was used in, colour match
MATERIALS: dict[str, tuple[list[str], list[str], str]] = {
    "plaster": (["fills"], ["1890", "1910", "1934"], "plain"),
    "wax": (["fills", "fills", "holds"], ["1920", "1936", "1951-03"], "near"),
    "shellac": (["holds", "fills"], ["1905", "1931"], "near"),
    "animal_glue": (["holds"], ["1880", "1900"], ""),
    "epoxy": (["fills", "holds"], ["1968", "1979", "1984-06"], "passes"),
    "polyester": (["fills"], ["1971", "1976-11"], "near"),
    "cellulose_nitrate": (["holds", "covers"], ["1938", "1949"], ""),
    "pva": (["holds"], ["1962", "1977"], ""),
    "oil_overpaint": (["tints"], ["1900", "1925"], "plain"),
    "overgilding": (["tints"], ["1910"], "plain"),
    "solder": (["holds"], ["1890"], ""),
}
SIGNS = {
    "ageing": ["colour_change"],
    "failing": ["edge_gap", "brittle"],
    "failed": ["edge_gap", "softening"],
    "harmful": ["salt_beneath", "lifting_film"],
    "sound": [],
}


@dataclass
class SimulatedRepair:
    """One repair as it truly is."""

    item: Item
    part: str
    function: str
    material: str
    done_on: str
    state: str
    area_mm2: float
    match: str = ""
    number: str = ""
    certainty: str = "observed"
    treatment: str = ""
    closed_on: date | None = None
    removed_by: str = ""
    coating: bool = False
    recorded: bool = False
    born: date | None = None
    more: dict[str, Any] = field(default_factory=dict)


def old_repairs() -> dict[str, list[SimulatedRepair]]:
    """Object number to the repairs it came with."""
    chance = stream("repairs")
    found: dict[str, list[SimulatedRepair]] = {}
    for mend in [*_campaign(chance), *_others(chance), *_varnished(chance)]:
        found.setdefault(mend.item.number, []).append(mend)
    return found


def _campaign(chance: random.Random) -> list[SimulatedRepair]:
    """A polyurethane coating put on fourteen painted enamels in one season."""
    able = [
        t
        for t in checked()
        if t.group in ("unstable_painted", "painted") and t.shape == "flat" and not t.parts and t.hand in EARLY
    ]
    chosen = chance.sample(sorted(able, key=lambda t: (t.group != "unstable_painted", t.number))[:24], COATED)
    return [
        SimulatedRepair(
            t,
            "whole",
            "covers",
            "polyurethane",
            CAMPAIGN,
            chance.choice(["ageing", "failing", "failing", "harmful"]),
            round(0.7 * t.area_mm2),
            coating=True,
            certainty="documented",
        )
        for t in chosen
    ]


def _varnished(chance: random.Random) -> list[SimulatedRepair]:
    """Varnish and wax that owners and dealers put on to make things shine."""
    able = [
        t
        for t in checked()
        if t.group in ("painted", "champleve", "guilloche") and t.sort != "limoges_later" and not t.parts
    ]
    return [
        SimulatedRepair(
            t,
            "whole",
            "covers",
            chance.choice(["natural_resin", "coating_wax"]),
            chance.choice(["1890", "1925", "1947"]),
            chance.choice(["sound", "ageing", "ageing", "ageing"]),
            round(between(chance, [0.35, 0.8]) * t.area_mm2),
        )
        for t in chance.sample(able, VARNISHED)
    ]


def _others(chance: random.Random) -> list[SimulatedRepair]:
    able = [t for t in checked() if t.group not in ("badge", "steel_sign") and t.provenance != "burial"]
    names = list(MATERIALS)
    return [_other(chance.choice(able), names[n % len(names)], chance) for n in range(OTHER_REPAIRS)]


def _other(item: Item, material: str, chance: random.Random) -> SimulatedRepair:
    functions, years, match = MATERIALS[material]
    state = chance.choices(STATES, weights=[6, 5, 1, 0.25])[0]
    function = chance.choice(functions)
    area = between(chance, [0.015, 0.07]) * item.area_mm2 if function == "holds" else between(chance, [20, 300])
    return SimulatedRepair(
        item,
        chance.choice(item.enamel_parts),
        function,
        material,
        chance.choice(years),
        state,
        round(area),
        match=match,
        certainty=chance.choice(["observed", "observed", "tested"]),
    )


def age(mend: SimulatedRepair, start: date, end: date, chance: random.Random, tally: Tally) -> None:
    """Let a repair get worse between two days; the coating of the campaign turns harmful where others fail."""
    left = (end - start).days / YEAR
    while left > 0 and mend.state in STATES[:-1]:
        place = STATES.index(mend.state)
        mean = rates()["repair"][mend.material][place]
        wait = chance.expovariate(1 / mean)
        spent, happens = min(wait, left), wait < left
        tally.add(WORSENS, mend.material, mend.state, spent / mean, int(happens))
        if happens:
            mend.state = "harmful" if mend.coating and place == 2 else STATES[place + 1]
        left -= spent


def repair_row(mend: SimulatedRepair) -> dict[str, Any]:
    """Row of record repair."""
    modern = bool(mend.treatment)
    return {
        "repair_id": mend.number,
        "object_id": mend.item.number,
        "part": mend.part,
        "side": "front",
        "function": mend.function,
        "material": mend.material,
        "certainty": mend.certainty,
        "done_on": mend.done_on,
        "done_by": "the museum's bench" if modern else ("coating campaign, contractor" if mend.coating else ""),
        "covers_original": "yes" if mend.coating else "",
        "soluble_in": "acetone" if modern else "",
        "covers_original_reason": "barrier coating as advised at the time (work ledger 1974)" if mend.coating else "",
        "soluble_in_basis": "documented" if modern else "",
        "level": "flush" if mend.function == "fills" else "",
        "colour_match": mend.match if mend.function == "fills" else "",
        "visibility": "face" if mend.match == "plain" or mend.function == "holds" else "side",
        "documented": f"treatment {mend.treatment}" if modern else ("work ledger 1974" if mend.coating else ""),
        "treatment_id": mend.treatment,
        "closed_on": mend.closed_on or "",
        "removed_by": mend.removed_by,
    }
