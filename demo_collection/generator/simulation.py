"""The eleven years played through: what is there is written down at each look; what cannot wait goes to the bench."""

import heapq
import random
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache

from demo_collection.generator.chance import stream
from demo_collection.generator.check_lines import damage_floor, damage_line, grade, repair_floor, repair_line
from demo_collection.generator.damage import damage_row, evolve, new_damage, old_damage
from demo_collection.generator.museum import CONSERVATOR, CONSERVATOR_CAME, TODAY, examiner_in
from demo_collection.generator.objects import Item, checked
from demo_collection.generator.register import Register
from demo_collection.generator.repairs import age, old_repairs, repair_row
from demo_collection.generator.rounds import EXAMINATION, INSPECTION, SWEEP, Visit, planned
from demo_collection.generator.tables import Row, row
from demo_collection.generator.treatments import Bench, book, treat

LAST_SEEN = 2024  # from this year on nothing more is begun with what the audit of 2025 did not find
METHODS = {SWEEP: "", INSPECTION: "raking light, loupe 10x", EXAMINATION: "stereo microscope, raking light"}
MINUTES = {SWEEP: (1, 3), INSPECTION: (8, 35), EXAMINATION: (30, 90)}


@dataclass
class Years:
    """What goes on: the register as it grows, the bench, and the visits ahead as a heap."""

    register: Register
    bench: Bench
    visits: list[Visit]
    chance: random.Random


@cache
def simulate() -> Register:
    """Everything the museum wrote down in eleven years."""
    register, visits, items = Register(old_repairs()), planned(), {t.number: t for t in checked()}
    years = Years(register, Bench(register, stream("bench")), visits, stream("years"))
    heapq.heapify(visits)
    while visits:
        visit = heapq.heappop(visits)
        if visit.look == SWEEP:
            _sweep(years, visit)
        else:
            _inspect(years, visit, items[visit.number])
    register.rows["damage"] = [damage_row(d) for each in register.damage.values() for d in each]
    register.rows["repair"] = [repair_row(r) for each in register.repairs.values() for r in each if r.number]
    return register


def _check(years: Years, visit: Visit) -> Row:
    """A new row of record condition_check."""
    bench_day = visit.bench and visit.day >= CONSERVATOR_CAME
    examiner = CONSERVATOR if bench_day else examiner_in(visit.day, years.chance.random())
    number = years.register.next_number("condition_check", f"C{visit.day.year % 100}-")
    values = {"check_id": number, "examiner": examiner, "method": METHODS[visit.look]}
    values |= {"minutes": years.chance.randint(*MINUTES[visit.look])}
    values |= {"signed_on": visit.day if visit.look != SWEEP and visit.day.year >= 2023 else ""}
    return years.register.add("condition_check", row("condition_check", values, visit))


def _sweep(years: Years, visit: Visit) -> None:
    """A glance from the shelf: a grade and nothing else, if the object was reached."""
    check = _check(years, visit)
    if visit.visit not in ("not_found", "not_reachable"):
        known = [d for d in years.register.open_damage(visit.number) if d.last]
        check["grade"] = "fair" if len(known) > 1 or years.chance.random() < 0.15 else "good"


def _inspect(years: Years, visit: Visit, item: Item) -> None:
    """A close look: lines of all damage and repairs, a grade, what was seen, and what follows."""
    check, register = _check(years, visit), years.register
    _pass_time(years, item, visit.day)
    check["grade"] = grade(_write_lines(years, item, check, visit.day), check["examiner"])
    check["next_check_on"] = _next_check(years, item, visit.day)
    moving = [f"{d.kind.replace('_', ' ')} {d.side}" for d in register.open_damage(item.number) if d.moving]
    check["summary_observed"] = "Moving or suspected: " + ", ".join(moving) if moving else ""
    _write_coverage(register, item, check, visit.day)
    if visit.bench == "start":
        finished = treat(years.bench, item, visit.day)
        _plan(years, finished, item, EXAMINATION, "after_treatment", "end")
    elif not (item.missing and visit.day.year >= LAST_SEEN):
        _follow_up(years, visit, item)


def _pass_time(years: Years, item: Item, day: date) -> None:
    """Before the first inspection all is old; between inspections damage comes and moves on."""
    register, chance = years.register, years.chance
    last, tally = register.inspected.get(item.number), register.tally
    if last is None:
        register.damage[item.number] = old_damage(item, chance)
    elif last < day:
        for damage in register.open_damage(item.number):
            evolve(damage, last, day, chance, tally)
        register.damage[item.number] += new_damage(item, last, day, chance, tally)
        for repair in register.open_repairs(item.number):
            age(repair, max(last, repair.born or last), day, chance, tally)
    register.inspected[item.number] = day


def _write_lines(years: Years, item: Item, check: Row, day: date) -> list[int]:
    """A line for each damage and repair; returns the best grade that each allows."""
    register, floors = years.register, []
    for damage in register.open_damage(item.number):
        if not damage.number:
            damage.number, damage.first_seen = register.next_number("damage", "D"), day
        line = register.add("observation", damage_line(damage, check["check_id"], years.chance))
        if line["activity"] and not damage.flaw:
            floors.append(damage_floor(damage, line))
    for repair in register.open_repairs(item.number):
        repair.number = repair.number or register.next_number("repair", "R")
        register.add("repair_state", repair_line(repair, check["check_id"]))
        floors.append(repair_floor(repair))
    return floors


def _next_check(years: Years, item: Item, day: date) -> date | str:
    if any(d.moving for d in years.register.open_damage(item.number)):
        return day + timedelta(years.chance.choice([180, 270, 365]))
    return day + timedelta(365) if item.group == "unstable_painted" else ""


def _write_coverage(register: Register, item: Item, check: Row, day: date) -> None:
    """Flat objects have a reverse; from 2021 on it was written down whether anybody saw it."""
    if item.shape not in ("flat", "flat_round") or item.parts or day.year < 2021:
        return
    hidden = {"seen": "not_accessible", "why": "sealed frame, reverse never seen"} if item.framed else {"seen": "seen"}
    for side, seen in (("front", {"seen": "seen"}), ("reverse", hidden)):
        register.add("coverage", row("coverage", seen, check_id=check["check_id"], side=side))


def _follow_up(years: Years, visit: Visit, item: Item) -> None:
    """A place in the queue of the bench, or a second look in some months."""
    booked = None if visit.bench else book(years.bench, item, visit.day)
    if booked:
        _plan(years, booked, item, EXAMINATION, "before_treatment", "start")
        return
    active = any(d.last.get("activity") == "active" for d in years.register.open_damage(item.number))
    if active and years.chance.random() < 0.5:
        again = visit.day + timedelta(years.chance.randint(90, 200))
        if again < TODAY:
            _plan(years, again, item, INSPECTION, "follow_up")


def _plan(years: Years, day: date, item: Item, look: str, occasion: str, bench: str = "") -> None:
    heapq.heappush(years.visits, Visit(day, item.number, look, occasion, bench=bench))
