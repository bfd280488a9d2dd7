"""What an examiner wrote of one damage or one repair, and the grade that follows: the worst single condition."""

import random

from demo_collection.generator.damage import Damage
from demo_collection.generator.museum import STRICT
from demo_collection.generator.register import Register
from demo_collection.generator.repairs import SIGNS, Repair
from demo_collection.generator.tables import Row, grouped, keyed, row

ERROR, CERTAIN = 0.03, 3.4  # standard error of one measurement; growth beyond so many errors is written down
ONLY_A_BAND = 0.12  # of the rest nobody takes the figure
NOT_ASSESSED = 0.04  # quiet places that nobody tried
NOT_EXAMINED = 0.015
BANDS, EVIDENCE = keyed("extent_bands", "band", below_percent=float), grouped("evidence", "activity")
GRADES = ("good", "fair", "poor", "unacceptable")
QUICK_YEARS = 4
BENEATH = ("weeping", "salts", "glass_induced_metal_corrosion", "lifting")
MODERATE_FROM, SEVERE_FROM = 0.006, 0.06  # shares of the enamel
FLOORS = keyed("grade_floors", "activity", minor=int, moderate=int, severe=int, critical=int)
FLOORS_OF_REPAIR = keyed("repair_floors", "state", holds=int, fills=int, covers=int, tints=int)
FLOORS_OF_KIND = keyed("kind_floors", "kind", best=int, from_stage=int)


def damage_line(damage: Damage, check_id: str, chance: random.Random) -> Row:
    """Row of record observation; it is what the next one is compared with."""
    values = {"check_id": check_id, "damage_id": damage.number}
    if damage.last and chance.random() < NOT_EXAMINED:
        return row("observation", values, change="not_examined")
    values |= {"severity": _severity(damage), "stage": damage.stage or "", **_measured(damage, chance)}
    activity = _activity(damage, chance)
    evidence = _evidence(damage.kind, activity, chance)
    line = row("observation", values, activity=activity, evidence=evidence)
    line |= _change(damage.last, line)
    damage.last, damage.losses = line, 0
    return line


def _evidence(kind: str, activity: str, chance: random.Random) -> str:
    """What shows it, as it shows in this kind of damage; else what shows in any."""
    lines = EVIDENCE.get(activity, [])
    own = [its["evidence"] for its in lines if its["kind"] == kind] or [
        its["evidence"] for its in lines if not its["kind"]
    ]
    return chance.choice(own) if own else ""


def _severity(damage: Damage) -> str:
    """How bad, by its share of the part."""
    if damage.share < MODERATE_FROM:
        return "minor"
    return "moderate" if damage.share < SEVERE_FROM else "severe"


def _measured(damage: Damage, chance: random.Random) -> Row:
    how, before = damage.rates["measure"], damage.last
    if how == "band" or before.get("extent_band") or (not before and chance.random() < ONLY_A_BAND):
        return {"extent_band": next(b for b, its in BANDS.items() if 100 * damage.share < its["below_percent"])}
    column = "length_mm" if how == "length" else "area_mm2"
    value = round(damage.size * (1 + ERROR * max(-2.5, min(2.5, chance.gauss(0, 1)))), 1)
    return {column: max(value, 0.5), "measurement_error": round(max(ERROR * damage.size, 0.1), 2)}


def _activity(damage: Damage, chance: random.Random) -> str:
    if damage.flaw:
        return str(damage.rates["calm"])
    if damage.active:
        seen_moving = damage.losses > 0 or chance.random() < (0.72 if damage.last else 0.45)
        return "active" if seen_moving else "suspected"
    if chance.random() < NOT_ASSESSED:
        return "unknown"
    return str(damage.rates["then" if damage.last else "calm"])


def _change(before: Row, line: Row) -> Row:
    """Compared with the line before: grown beyond the error of the two, or not."""
    if not before:
        return {"change": "not_comparable"}
    column = next((c for c in ("length_mm", "area_mm2") if line[c] and before[c]), None)
    grown = column is not None and line[column] - before[column] > CERTAIN * line["measurement_error"]
    return {"change": "grown" if grown else "unchanged", "compared_with": before["check_id"]}


def repair_line(repair: Repair, check_id: str, register: Register) -> Row:
    """Row of record repair_state; where it harms, how far, and the damage it does if that is on record."""
    signs, harms = SIGNS[repair.state]["signs"] or [], repair.state == "harmful"
    note = "damp and salts seen under the film with the microscope" if harms else ""
    signs = ";".join([*signs, *["hides_original"] * repair.coating])
    beneath = [d.number for d in register.open_damage(repair.item.number) if d.kind in BENEATH and d.number]
    values = {"check_id": check_id, "signs": signs, "note": note}
    if harms:
        values |= {"harmed_mm2": repair.harmed_mm2, "harms": beneath[0] if beneath else ""}
    return row("repair_state", values, repair)


def damage_floor(damage: Damage, line: Row) -> int:
    """Best grade that one line of damage allows."""
    activity = line["activity"]
    if activity == "active":
        quick = damage.rates.get("quick") or damage.rates["years"] <= QUICK_YEARS
        activity = "fast" if quick else "slow"
    of_activity = int(FLOORS[activity if activity in FLOORS else "stable"][line["severity"]])
    return max(of_activity, _floor_of_kind(damage))


def _floor_of_kind(damage: Damage) -> int:
    """What nobody calls good while it is there, whatever it does."""
    its = FLOORS_OF_KIND.get(damage.kind)
    worse = its is not None and its["from_stage"] and (damage.stage or 0) >= its["from_stage"]
    return its["best"] + bool(worse) if its else 0


def repair_floor(repair: Repair) -> int:
    """Best grade that one repair allows."""
    return int(FLOORS_OF_REPAIR[repair.state][repair.function]) if repair.state in FLOORS_OF_REPAIR else 0


def grade(floors: list[int], examiner: str) -> str:
    """The overall grade; while the strict examiner was there it was people that changed, not objects."""
    worst = max(floors, default=0)
    if examiner == STRICT and floors:
        worst = min(worst + 1, len(GRADES) - 1)
    return GRADES[worst]
