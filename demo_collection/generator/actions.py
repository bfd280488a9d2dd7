"""What was done at once about what could not wait: boxes, trays, better places, until the bench has time."""

import random
from collections.abc import Iterator
from datetime import date, timedelta

from demo_collection.generator.chance import stream
from demo_collection.generator.damage import Damage
from demo_collection.generator.documents import last_looks
from demo_collection.generator.loans import CHECKED_FOR_LOANS, looked_at
from demo_collection.generator.museum import CONSERVATOR, KEEPER, TODAY
from demo_collection.generator.objects import Item, checked
from demo_collection.generator.simulation import simulate
from demo_collection.generator.tables import Row, grouped, row

SINCE = timedelta(45)  # what was seen later than this before the day is not answered yet
DONE = 0.85  # of the older ones
WAYS = grouped("actions", "of")


def actions() -> Iterator[Row]:
    """Rows of record action, in order of days."""
    drawn = [*_acts(stream("actions")), *_acts_for_loans()]
    acts = sorted(drawn, key=lambda values: (values["done_on"], values["object_id"]))
    for number, values in enumerate(acts, start=1):
        yield row("action", values, action_id=f"A{number:03d}")


def _acts(chance: random.Random) -> Iterator[Row]:
    """One act for most of what moved, let go or did harm when it was last seen."""
    for item in (t for t in checked() if not t.missing and t.number in last_looks()):
        seen = last_looks()[item.number]["checked_on"]
        for hazard_id, of in _causes(item):
            if chance.random() < DONE and seen < TODAY - SINCE:
                its = chance.choice(WAYS[of])
                day = min(seen + timedelta(chance.randint(0, 21)), TODAY)
                by = (
                    KEEPER
                    if its["what"] in ("moved", "labelled")
                    else CONSERVATOR
                    if day >= date(2022, 3, 2)
                    else KEEPER
                )
                values = {"object_id": item.number, "hazard_id": hazard_id, "done_on": day, "done_by": by}
                yield values | {"what": its["what"], "note": its["note"]}


def _acts_for_loans() -> Iterator[Row]:
    """What was seen again when objects were looked at for a loan is answered at once."""
    by_number = {item.number: item for item in checked()}
    for loan_id, number in looked_at():
        day = CHECKED_FOR_LOANS[loan_id] + timedelta(1)
        for hazard_id, of in _causes(by_number[number]):
            its = WAYS[of][0]
            values = {"object_id": number, "hazard_id": hazard_id, "done_on": day, "done_by": CONSERVATOR}
            yield values | {"what": its["what"], "note": its["note"]}


def _causes(item: Item) -> Iterator[tuple[str, str]]:
    """hazard_id, and the kind of damage or state of repair for which there are ways to act."""
    for damage in simulate().open_damage(item.number):
        if _calls(damage):
            yield f"damage:{damage.number}", damage.kind
    for repair in simulate().open_repairs(item.number):
        of = f"{repair.function} {repair.state}"
        if repair.number and of in WAYS:
            yield f"repair:{repair.number}", of


def _calls(damage: Damage) -> bool:
    """Decay that is suspected is answered as if it moved; what lifts, when it does."""
    activity = damage.last.get("activity")
    decays = any(its["suspected"] for its in WAYS.get(damage.kind, []))
    return damage.kind in WAYS and (activity == "active" or (decays and activity == "suspected"))
