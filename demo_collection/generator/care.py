"""What was decided: decisions with reasons, options not yet carried out, targets for the air, dangers to people."""

import random
from collections.abc import Iterator
from datetime import date, timedelta
from typing import Any

from demo_collection.generator.bench import HOURS, REMOVAL_HOURS, STEPS, hazard, option_row
from demo_collection.generator.checks import simulate
from demo_collection.generator.collected import checked
from demo_collection.generator.histories import SimulatedDamage
from demo_collection.generator.items import Item
from demo_collection.generator.museum import CONSERVATOR, KEEPER, TODAY
from demo_collection.generator.repairs import SimulatedRepair
from demo_collection.generator.truth import stream

Row = dict[str, Any]
OPEN_OPTIONS, LEFT = 40, 18
MOVING = ("active", "suspected")
REASONS = [
    "Old losses, the same since 2017; a fill would show more than the loss does",
    "Wear from use is part of what it is",
    "Worn gilding; nothing to gain",
    "Hairlines compared three times, unchanged",
    "Old repair is honest and holds; removing it would cost enamel",
]
TARGETS = [
    (
        "TG1",
        "L2",
        35,
        48,
        15,
        "unstable glass and steel share the room: dry, and steady",
        "kept low since the damp of 2022",
    ),
    (
        "TG2",
        "E1",
        38,
        47,
        10,
        "unstable painted enamels: 42 % with little change",
        "practice of the studio; see the treatment file",
    ),
    ("TG3", "GW", 35, 55, 20, "", "room default"),
    ("TG4", "E2", 35, 55, 20, "", "room default"),
]


def last_looks() -> dict[str, Row]:
    """Object number to its last check in which somebody saw it."""
    seen = [c for c in simulate().rows["condition_check"] if c["visit"] in ("examined", "through_glass")]
    return {c["object_id"]: c for c in seen}


def moving(item: Item) -> list[SimulatedDamage]:
    """Damage last written down as active or suspected."""
    return [w for w in simulate().open_wounds(item.number) if w.last.get("activity") in MOVING]


def lifts(item: Item) -> bool:
    """Enamel is lifting, and moving."""
    return any(w.kind == "lifting" and w.last["activity"] == "active" for w in moving(item))


def decisions() -> Iterator[Row]:
    """Rows of record decision."""
    chance, looks = stream("decisions"), last_looks()
    for number, (item, choice, reason, years) in enumerate(_decided(chance), start=1):
        looked = looks[item.number]["checked_on"]
        on = min(looked + timedelta(chance.randint(3, 60)), TODAY - timedelta(1))
        yield {
            "decision_id": f"DC{number:03d}",
            "object_id": item.number,
            "damage_id": "",
            "repair_id": "",
            "decided_on": on,
            "decided_by": KEEPER if choice == "leave" else CONSERVATOR,
            "choice": choice,
            "reason": reason,
            "review_on": TODAY + timedelta(365 * years - chance.randint(0, 200)),
        }


def _decided(chance: random.Random) -> Iterator[tuple[Item, str, str, int]]:
    looks = last_looks()
    recent = [
        t for t in checked() if t.number in looks and not t.missing and looks[t.number]["checked_on"] > date(2021, 1, 1)
    ]
    quiet = [
        t for t in recent if not moving(t) and t.status == "in_collection" and len(simulate().open_wounds(t.number)) > 1
    ]
    yield (
        next(t for t in checked() if t.provenance == "burial"),
        "leave",
        "Lost long ago, dry, stable; nothing to be gained",
        5,
    )
    for item in chance.sample([t for t in quiet if t.group != "unstable_painted" and t.provenance != "burial"], LEFT):
        yield item, "leave", chance.choice(REASONS), 4
    for item in [t for t in quiet if t.group == "unstable_painted"][:5]:
        yield item, "monitor", "No accepted treatment; watched twice a year in held air", 2
    restless = [t for t in recent if moving(t)]
    for place, item in enumerate(restless[::3]):
        if place % 4 == 3:
            yield item, "refer", "To be asked of a colleague who knows such glass", 1
        else:
            yield item, "treat", "Will lose material at the next move", 1


def open_options() -> Iterator[tuple[Row, list[Row]]]:
    """Options not yet carried out, each with what it does to hazards: 40 beside the 50 that are done."""
    chance = stream("options")
    done = len(simulate().rows["option"])
    able = [t for t in checked() if not t.missing and _work(t)]
    able.sort(key=lambda t: (not lifts(t), not moving(t), t.number))
    for place, item in enumerate(able[:OPEN_OPTIONS]):
        work = _work(item)
        steps, likely = _steps(work)
        status = "accepted" if place < 12 else "dropped" if place > OPEN_OPTIONS - 5 else "open"
        row = option_row(f"O{done + place + 1:04d}", item.number, steps, likely, status, chance)
        left = chance.choice([0.05, 0.1, 0.3])
        yield row, [{"option_id": row["option_id"], "hazard_id": hazard(w), "rate_left": left} for w in work]


def _work(item: Item) -> list[SimulatedDamage | SimulatedRepair]:
    wounds = [w for w in simulate().open_wounds(item.number) if "treat" in w.its and not w.flaw]
    mends = [
        m for m in simulate().open_mends(item.number) if m.recorded and m.state in ("failing", "failed", "harmful")
    ]
    return [*wounds, *mends]


def _steps(work: list[SimulatedDamage | SimulatedRepair]) -> tuple[list[str], float]:
    steps, likely = [], 1.0
    for each in work:
        if isinstance(each, SimulatedRepair):
            steps.append("coating_removal" if each.coating else "repair_removal")
            likely += REMOVAL_HOURS[steps[-1]]
        else:
            steps += STEPS[each.its["treat"]]
            likely += HOURS[each.its["treat"]]
    return list(dict.fromkeys(steps)), likely


def targets() -> Iterator[Row]:
    """Rows of record target: for rooms, some with a reason, and for unstable glass away from its fellows."""
    for target_id, location_id, low, high, change, reason, source in TARGETS:
        yield _target(target_id, "", location_id, (low, high, change, 26), reason, "2023-03-06", source)
    away = sorted(t.number for t in checked() if t.group == "unstable_painted" and t.room in ("GA", "L1"))
    for place, number in enumerate(away, start=1):
        reason = "weeping or crizzling glass, away from its fellows in E1"
        yield _target(f"TO{place}", number, "", (38, 48, 8, 24), reason, "2024-10-14", "treatment file")


def _target(
    target_id: str, object_id: str, location_id: str, limits: tuple[int, ...], reason: str, set_on: str, source: str
) -> Row:
    named = dict(zip(("rh_low", "rh_high", "rh_change_24h", "temperature_high"), limits, strict=True))
    row = {"target_id": target_id, "object_id": object_id, "location_id": location_id, **named}
    return {**row, "reason": reason, "set_by": CONSERVATOR, "set_on": set_on, "source": source}


def dangers() -> Iterator[Row]:
    """Rows of record danger_to_people."""
    yield _danger(
        "1986.141", "radium", "tested", "gloves, bagged, ventilated; not worn, not opened", 3.1, "µSv/h", "2025-11-04"
    )
    yield _danger("1979.177", "uranium", "presumed", "", None, "", "")
    yield _danger(
        "1991.108", "asbestos", "documented", "wrapped, labelled; licensed contractor only", None, "", "2024-05-21"
    )
    yield _danger("DEP 3", "use", "documented", "not to be drunk from; parish told in writing", None, "", "2025-01-20")
    signs = [t for t in checked() if t.group == "steel_sign" and t.sort == "steel_sign"][:3]
    for item in signs:
        yield _danger(item.number, "sharp_heavy", "documented", "two people, cut-proof gloves", None, "", "2022-02-14")
    wet = [t for t in checked() if any(w.kind == "weeping" for w in simulate().open_wounds(t.number))][:3]
    for item in wet:
        yield _danger(
            item.number, "alkaline_film", "tested", "nitrile gloves; never with bare hands", 9.0, "pH", "2024-02-06"
        )


def _danger(
    number: str, agent: str, basis: str, precautions: str, measured: float | None, unit: str, safe_on: str
) -> Row:
    return {
        "object_id": number,
        "part": "",
        "agent": agent,
        "basis": basis,
        "measured": measured or "",
        "unit": unit,
        "measured_on": safe_on if measured else "",
        "measured_by": "Rhoda Quennell" if agent == "radium" else "",
        "precautions": precautions,
        "made_safe_on": safe_on,
        "review_on": "2027-05-01",
    }
