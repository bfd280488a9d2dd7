"""The treatment bench: what it accepts each year, what it does, the hours it keeps, and what its options cost."""

import random
from datetime import date, timedelta

from demo_collection.generator.chance import stream
from demo_collection.generator.damage import Damage
from demo_collection.generator.museum import KEEPER, TODAY, treats_in
from demo_collection.generator.objects import Item, checked
from demo_collection.generator.register import Register
from demo_collection.generator.repairs import Repair
from demo_collection.generator.tables import Row, keyed, row, words

Work = list[Damage | Repair]
PLACES = {2017: 4, 2018: 6, 2019: 6, 2020: 3, 2021: 5, 2022: 5, 2023: 8, 2024: 7, 2025: 6, 2026: 5}  # 55 in all
NOBODY_AUTHORISED = "T0023"
URGENT = 5  # treatments begun without an option on paper
OPEN_OPTIONS, ACCEPTED, DROPPED = 40, 12, 4
COATINGS_OFF = 4  # after four the museum stopped: too slow, and not without loss
BAD = ("failed", "harmful")
TREATED_WHILE_FAILING = 0.15
TREATMENTS = keyed("treatments", "treatment", steps=words, hours=float)
REMOVAL_HOURS, OVERRUN = {"coating_removal": 9.0, "repair_removal": 4.0}, (1.55, 2.4)


def book(register: Register, item: Item, day: date) -> date | None:
    """A day at the bench for what cannot wait; a place that a year left unused the next can have."""
    work = _urgent_work(register, item.number)
    if item.number in register.waiting or not work:
        return None
    for wait in (register.bench_chance.randint(25, 150), 320, 480):
        start = day + timedelta(wait)
        places = sum(n for year, n in PLACES.items() if year <= start.year)
        if register.bench_places < places and start < TODAY - timedelta(60):
            register.bench_places += 1
            register.waiting[item.number] = work
            register.coatings_off += sum(isinstance(each, Repair) and each.coating for each in work)
            return start
    return None


def _urgent_work(register: Register, object_id: str) -> Work:
    damage = [d for d in register.open_damage(object_id) if "treat" in d.rates]
    active = [d for d in damage if d.last.get("activity") == "active"]
    repairs = [r for r in register.open_repairs(object_id) if r.number and r.function != "tints"]
    return [*active, *(r for r in repairs if _cannot_stay(register, r))]


def _cannot_stay(register: Register, repair: Repair) -> bool:
    """Failing repairs mostly wait; of the coatings only the first few were removed."""
    if repair.coating:
        return repair.state in BAD and register.coatings_off < COATINGS_OFF
    return repair.state in BAD or (repair.state == "failing" and register.bench_chance.random() < TREATED_WHILE_FAILING)


def treat(register: Register, item: Item, start: date) -> date:
    """One treatment, written down; returns the day it was finished."""
    chance = register.bench_chance
    finish, work = start + timedelta(chance.randint(3, 26)), register.waiting.pop(item.number)
    number, (steps, likely, removal) = register.next_number("treatment", "T"), _steps_and_hours(work)
    option_id = _option(register, item, work)
    hours = likely * chance.uniform(0.85, 1.2) + removal * (chance.uniform(*OVERRUN) - 1)
    values = {"treatment_id": number, "option_id": option_id, "object_id": item.number, "started_on": start}
    values |= {"finished_on": finish, "done_by": treats_in(start), "hours": round(hours * 4) / 4}
    values |= {"authorised_by": "" if number == NOBODY_AUTHORISED else KEEPER, "steps": ";".join(steps)}
    values |= {"materials_cost": _materials_cost(steps), "report_on": finish + timedelta(9)}
    values |= {"note": "taking off the old repair took far longer than thought" if removal else ""}
    register.add("treatment", row("treatment", values, follow_up_on=finish + timedelta(182)))
    for each in work:
        _close(register, each, number, finish)
    return finish


def _steps_and_hours(work: Work) -> tuple[list[str], float, float]:
    """Steps, likely hours, and how many of those are for removing old repairs."""
    steps, hours, removal = [], 1.0, 0.0
    for each in work:
        if isinstance(each, Repair):
            steps.append("coating_removal" if each.coating else "repair_removal")
            removal += REMOVAL_HOURS[steps[-1]]
        else:
            its = TREATMENTS[each.rates["treat"]]
            steps, hours = steps + its["steps"], hours + its["hours"]
    return list(dict.fromkeys(steps)), hours + removal, removal


def _materials_cost(steps: list[str]) -> str:
    return f"{4 + 3 * len(steps):.2f}"


def _option(register: Register, item: Item, work: Work) -> str:
    """The option that the work had on paper, with what it does to each hazard; the first were too urgent for one."""
    if len(register.rows.get("treatment", ())) < URGENT:
        return ""
    option = register.add("option", _option_row(register, item.number, work, "done", register.bench_chance))
    for each in work:
        _add_effect(register, option, each, register.bench_chance.choice([0, 0.1, 0.2]))
    return str(option["option_id"])


def _add_effect(register: Register, option: Row, each: Damage | Repair, left: float) -> None:
    """What an option leaves of the rate of the hazard that a damage or a repair makes."""
    hazard = f"repair:{each.number}" if isinstance(each, Repair) else f"damage:{each.number}"
    register.add("option_effect", row("option_effect", option_id=option["option_id"], hazard_id=hazard, rate_left=left))


def plan_options(register: Register) -> None:
    """Options not yet carried out, urgent or not: 40 more than the 50 that are done."""
    chance, work = stream("options"), {t.number: _work(register, t.number) for t in checked() if not t.missing}
    able = [number for number in work if work[number]]
    able.sort(key=lambda number: (not register.lifts(number), not register.moving(number), number))
    for place, number in enumerate(able[:OPEN_OPTIONS]):
        status = "accepted" if place < ACCEPTED else "open" if place < OPEN_OPTIONS - DROPPED else "dropped"
        option = register.add("option", _option_row(register, number, work[number], status, chance))
        left = chance.choice([0.05, 0.1, 0.3])
        for each in work[number]:
            _add_effect(register, option, each, left)


def _work(register: Register, object_id: str) -> Work:
    """What a treatment could do."""
    damage = [d for d in register.open_damage(object_id) if "treat" in d.rates and not d.flaw]
    return [*damage, *(r for r in register.open_repairs(object_id) if r.number and r.state in ("failing", *BAD))]


def _option_row(register: Register, object_id: str, work: Work, status: str, chance: random.Random) -> Row:
    """Row of record option."""
    steps, hours, removal = _steps_and_hours(work)
    fills = "fill" in steps
    number = register.next_number("option", "O")
    values = {"option_id": number, "object_id": object_id, "steps": ";".join(steps), "status": status}
    values |= {"aim": "restoration" if fills else "remedial", "benefit": "shows_more" if fills else "prevents_loss"}
    values |= {"loss_in_doing": chance.choice([0.003, 0.01] if removal else [0, 0, 0.001, 0.003])}
    values |= {"skill": "technician" if steps == ["remount"] else "enamel_conservator"}
    values |= {"hours_low": round(hours * 0.7, 1), "hours_likely": round(hours, 1), "hours_high": round(hours * 1.5, 1)}
    values |= {"tests_hours": 0.5 if "tests" in steps else "", "waiting_days": 7 if "consolidate" in steps else ""}
    values |= {"materials_cost": _materials_cost(steps), "estimate_class": "class_c" if status == "open" else "class_b"}
    values |= {"retreatability": "hardly" if removal else "yes"}
    return row("option", values, compensation="visible_near" if fills else "none")


def _close(register: Register, each: Damage | Repair, number: str, day: date) -> None:
    """Close a damage or remove a repair; a fill or a join of our own time may replace it."""
    each.closed_on = day
    if isinstance(each, Repair):
        each.removed_by = number
        if each.function != "covers":
            _add_repair(register, each, each.function, each.area_mm2, number)
    else:
        each.closed_by = number
        if each.rates["treat"] in ("consolidate", "fill"):
            function = "holds" if each.rates["treat"] == "consolidate" else "fills"
            _add_repair(register, each, function, round(each.size, 1), number)


def _add_repair(register: Register, each: Damage | Repair, function: str, area: float, number: str) -> None:
    """A documented repair in the place of what was closed; its material is written down once a place."""
    day = each.closed_on
    documented = (day.isoformat(), "sound", area, "near", "documented", number, day)
    repair = Repair(each.item, each.part, function, "acrylic_b72", *documented, side=each.side)
    register.repairs.setdefault(each.item.number, []).append(repair)
    place = {"treatment_id": number, "part": each.part, "function": function}
    if not any(place.items() <= used.items() for used in register.rows.get("material_use", [])):
        batch = f"B{day.year}-{1 + day.month // 7}"
        register.add("material_use", row("material_use", place, batch=batch, area_mm2=area))
