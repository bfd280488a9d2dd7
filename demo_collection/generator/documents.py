"""What goes with objects: fragments, and documents of treatments."""

from collections.abc import Iterator

from demo_collection.generator.objects import checked
from demo_collection.generator.simulation import simulate
from demo_collection.generator.tables import Row, row

BAG, PIECES = "1933.160.1-11", 11


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
