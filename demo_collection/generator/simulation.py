"""The eleven years played through: what is there is written down at each look; what cannot wait goes to the bench."""

import heapq
from datetime import date, timedelta
from functools import cache

from demo_collection.generator.check_lines import damage_floor, damage_line, grade, repair_floor, repair_line
from demo_collection.generator.damage import damage_row, evolve, new_damage, old_damage
from demo_collection.generator.museum import CONSERVATOR, CONSERVATOR_CAME, TODAY, examiner_in
from demo_collection.generator.objects import Item, checked
from demo_collection.generator.register import Register
from demo_collection.generator.repairs import age, repair_row
from demo_collection.generator.rounds import EXAMINATION, INSPECTION, SWEEP, Visit
from demo_collection.generator.tables import Row, row
from demo_collection.generator.treatments import book, plan_options, treat

LAST_SEEN = 2024  # from this year on nothing more is begun with what the audit of 2025 did not find
METHODS = {SWEEP: "", INSPECTION: "raking light, loupe 10x", EXAMINATION: "stereo microscope, raking light"}
MINUTES = {SWEEP: (1, 3), INSPECTION: (8, 35), EXAMINATION: (30, 90)}


@cache
def simulate() -> Register:
    """Everything the museum wrote down in eleven years."""
    register, items = Register(), {t.number: t for t in checked()}
    heapq.heapify(register.visits)
    while register.visits:
        visit = heapq.heappop(register.visits)
        if visit.look == SWEEP:
            _sweep(register, visit)
        else:
            _inspect(register, visit, items[visit.number])
    plan_options(register)
    register.rows["damage"] = [damage_row(d) for each in register.damage.values() for d in each]
    register.rows["repair"] = [repair_row(r) for each in register.repairs.values() for r in each if r.number]
    return register


def _check(register: Register, visit: Visit) -> Row:
    """A new row of record condition_check."""
    bench_day = visit.bench and visit.day >= CONSERVATOR_CAME
    examiner = CONSERVATOR if bench_day else examiner_in(visit.day, register.chance_of(visit.number).random())
    number = register.next_number("condition_check", f"C{visit.day.year % 100}-")
    values = {"check_id": number, "examiner": examiner, "method": METHODS[visit.look]}
    values |= {"minutes": register.chance_of(visit.number).randint(*MINUTES[visit.look])}
    values |= {"signed_on": visit.day if visit.look != SWEEP and visit.day.year >= 2023 else ""}
    return register.add("condition_check", row("condition_check", values, visit))


def _sweep(register: Register, visit: Visit) -> None:
    """A glance from the shelf: a grade and nothing else, if the object was reached."""
    check = _check(register, visit)
    if visit.visit not in ("not_found", "not_reachable"):
        known = [d for d in register.open_damage(visit.number) if d.last]
        check["grade"] = "fair" if len(known) > 1 or register.chance_of(visit.number).random() < 0.15 else "good"


def _inspect(register: Register, visit: Visit, item: Item) -> None:
    """A close look: lines of all damage and repairs, a grade, what was seen, and what follows."""
    check = _check(register, visit)
    _pass_time(register, item, visit.day)
    check["grade"] = grade(_write_lines(register, item, check, visit.day), check["examiner"])
    check["next_check_on"] = _next_check(register, item, visit.day)
    moving = [f"{d.kind.replace('_', ' ')} {d.side}" for d in register.moving(item.number)]
    check["summary_observed"] = "Moving or suspected: " + ", ".join(moving) if moving else ""
    _write_coverage(register, item, check, visit.day)
    if visit.bench == "start":
        finished = treat(register, item, visit.day)
        _plan(register, finished, item, EXAMINATION, "after_treatment", "end")
    elif not (item.missing and visit.day.year >= LAST_SEEN):
        _follow_up(register, visit, item)


def _pass_time(register: Register, item: Item, day: date) -> None:
    """Before the first inspection all is old; between inspections damage comes and moves on."""
    chance, tally, last = register.chance_of(item.number), register.tally, register.inspected.get(item.number)
    if last is None:
        register.damage[item.number] = old_damage(item, chance)
    elif last < day:
        for damage in register.open_damage(item.number):
            evolve(damage, last, day, chance, tally)
        register.damage[item.number] += new_damage(item, last, day, chance, tally)
        for repair in register.open_repairs(item.number):
            register.damage[item.number] += age(repair, max(last, repair.born or last), day, chance, tally)
    register.inspected[item.number] = day


def _write_lines(register: Register, item: Item, check: Row, day: date) -> list[int]:
    """A line for each damage and repair; returns the best grade that each allows."""
    floors = []
    for damage in register.open_damage(item.number):
        if not damage.number:
            damage.number, damage.first_seen = register.next_number("damage", "D"), day
        line = register.add("observation", damage_line(damage, check["check_id"], register.chance_of(item.number)))
        if line["activity"] and not damage.flaw:
            floors.append(damage_floor(damage, line))
    for repair in register.open_repairs(item.number):
        repair.number = repair.number or register.next_number("repair", "R")
        register.add("repair_state", repair_line(repair, check["check_id"], register))
        floors.append(repair_floor(repair))
    return floors


def _next_check(register: Register, item: Item, day: date) -> date | str:
    if register.moving(item.number):
        return day + timedelta(register.chance_of(item.number).choice([180, 270, 365]))
    return day + timedelta(365) if item.group == "unstable_painted" else ""


def _write_coverage(register: Register, item: Item, check: Row, day: date) -> None:
    """Flat objects have a reverse; from 2021 on it was written down whether anybody saw it."""
    if item.shape not in ("flat", "flat_round") or item.parts or day.year < 2021:
        return
    hidden = {"seen": "not_accessible", "why": "sealed frame, reverse never seen"} if item.framed else {"seen": "seen"}
    for side, seen in (("front", {"seen": "seen"}), ("reverse", hidden)):
        register.add("coverage", row("coverage", seen, check_id=check["check_id"], side=side))


def _follow_up(register: Register, visit: Visit, item: Item) -> None:
    """A place in the queue of the bench, or a second look in some months."""
    booked = None if visit.bench else book(register, item, visit.day)
    if booked:
        _plan(register, booked, item, EXAMINATION, "before_treatment", "start")
        return
    active = any(d.last.get("activity") == "active" for d in register.open_damage(item.number))
    if active and register.chance_of(item.number).random() < 0.5:
        again = visit.day + timedelta(register.chance_of(item.number).randint(90, 200))
        if again < TODAY:
            _plan(register, again, item, INSPECTION, "follow_up")


def _plan(register: Register, day: date, item: Item, look: str, occasion: str, bench: str = "") -> None:
    heapq.heappush(register.visits, Visit(day, item.number, look, occasion, bench=bench))
