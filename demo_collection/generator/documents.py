"""What was decided and filed: decisions with reasons, fragments, and documents of treatments."""

import random
from collections.abc import Iterator
from datetime import date, timedelta
from functools import cache

from demo_collection.generator.chance import stream
from demo_collection.generator.museum import CONSERVATOR, KEEPER, TODAY
from demo_collection.generator.objects import Item, checked
from demo_collection.generator.simulation import simulate
from demo_collection.generator.tables import Row, row, table

LEFT = 18
BAG, PIECES = "1933.160.1-11", 11
REASONS = [line["reason"] for line in table("decision_reasons")]


@cache
def last_looks() -> dict[str, Row]:
    """Object number to its last check in which somebody saw it."""
    seen = [c for c in simulate().rows["condition_check"] if c["visit"] in ("examined", "through_glass")]
    return {c["object_id"]: c for c in seen}


def decisions() -> Iterator[Row]:
    """Rows of record decision."""
    chance = stream("decisions")
    for number, (item, choice, reason, years) in enumerate(_decided(chance), start=1):
        decided = last_looks()[item.number]["checked_on"] + timedelta(chance.randint(3, 60))
        values = {"decision_id": f"DC{number:03d}", "object_id": item.number, "choice": choice, "reason": reason}
        values |= {"decided_on": min(decided, TODAY - timedelta(1))}
        values |= {"decided_by": KEEPER if choice == "leave" else CONSERVATOR}
        yield row("decision", values, review_on=TODAY + timedelta(365 * years - chance.randint(0, 200)))


def _decided(chance: random.Random) -> Iterator[tuple[Item, str, str, int]]:
    """Objects with the choice, the reason, and the years until it is looked at again."""
    present = [t for t in checked() if t.number in last_looks() and not t.missing]
    recent = [t for t in present if last_looks()[t.number]["checked_on"] > date(2021, 1, 1)]
    ours = [t for t in recent if not simulate().moving(t.number) and t.status == "in_collection"]
    quiet = [t for t in ours if len(simulate().open_damage(t.number)) > 1]
    brooch = next(t for t in checked() if t.provenance == "burial")
    yield brooch, "leave", "Lost long ago, dry, stable; nothing to be gained", 5
    stable = [t for t in quiet if t.group != "unstable_painted" and t.provenance != "burial"]
    for item in chance.sample(stable, LEFT):
        yield item, "leave", chance.choice(REASONS), 4
    for item in [t for t in quiet if t.group == "unstable_painted"][:5]:
        yield item, "monitor", "No accepted treatment; watched twice a year in held air", 2
    for place, item in enumerate([t for t in recent if simulate().moving(t.number)][::3]):
        if place % 4 == 3:
            yield item, "refer", "To be asked of a colleague who knows such glass", 1
        else:
            yield item, "treat", "Will lose material at the next move", 1


def fragments() -> Iterator[Row]:
    """Rows of record fragment: the bag of eleven, pieces that belong to known losses, one that lies loose."""
    for place in range(1, PIECES + 1):
        bag = {"object_id": BAG, "from_damage_id": "", "bag_label": f"{BAG} / {place}", "area_mm2": 18 + 7 * place}
        yield row("fragment", bag, fragment_id=f"F{place:03d}")
    present = [t for t in checked() if not t.missing]
    losses = [d for t in present for d in simulate().open_damage(t.number) if d.kind == "loss"]
    exceptions = {13: {"status": "in_place_loose", "location_id": ""}, 16: {"status": "lost"}}
    for place, loss in enumerate(losses[2:9], start=PIECES + 1):
        values = {"bag_label": f"{loss.item.number}, {loss.side}", "area_mm2": round(loss.size / 2, 1)}
        yield row("fragment", values | exceptions.get(place, {}), loss, fragment_id=f"F{place:03d}")


def evidence() -> Iterator[Row]:
    """Rows of record evidence: reports that lie in the treatment files."""
    for place, treatment in enumerate(simulate().rows["treatment"][::2], start=1):
        kind = ("report", "analysis", "radiograph")[place % 3]
        values = {"evidence_id": f"EV{place:03d}", "object_id": treatment["object_id"], "kind": kind}
        values |= {"dated": str(treatment["finished_on"])[:7], "made_by": treatment["done_by"]}
        shows = "treatment file" if kind == "report" else "made before the work began"
        yield row("evidence", values, what_it_shows=shows)
