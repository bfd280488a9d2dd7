"""The eleven years played through: what is there is written down at each look; what cannot wait goes to the bench."""

import heapq
from datetime import date, timedelta
from functools import cache
from typing import Any

from demo_collection.generator.bench import Bench
from demo_collection.generator.collected import checked
from demo_collection.generator.grades import floor_of, floor_of_repair, grade
from demo_collection.generator.histories import SimulatedDamage, evolve, new_damage, old_damage
from demo_collection.generator.items import Item
from demo_collection.generator.lines import damage_row, line, state
from demo_collection.generator.museum import CONSERVATOR, TODAY, examiner_in
from demo_collection.generator.register import Register
from demo_collection.generator.repairs import age, old_repairs, repair_row
from demo_collection.generator.rounds import EXAMINATION, INSPECTION, SWEEP, Visit, planned
from demo_collection.generator.truth import stream

Row = dict[str, Any]
LAST_SEEN = 2024  # from this year on nothing more is begun with what the audit of 2025 did not find
METHODS = {SWEEP: "", INSPECTION: "raking light, loupe 10x", EXAMINATION: "stereo microscope, raking light"}


@cache
def simulate() -> Register:
    """Everything the museum wrote down in eleven years."""
    years = _Years()
    years.play()
    return years.register


class _Years:
    def __init__(self) -> None:
        self.register = Register(mends=old_repairs())
        self.chance = stream("years")
        self.items = {t.number: t for t in checked()}
        self.seen: dict[str, date] = {}
        self.ahead = planned()
        self.bench = Bench(self.register, stream("bench"))
        heapq.heapify(self.ahead)

    def play(self) -> None:
        while self.ahead:
            visit = heapq.heappop(self.ahead)
            self._look(visit)
        for wounds in self.register.wounds.values():
            for wound in wounds:
                self.register.add("damage", damage_row(wound))
        for mends in self.register.mends.values():
            for mend in mends:
                if mend.recorded:
                    self.register.add("repair", repair_row(mend))

    def _look(self, visit: Visit) -> None:
        item = self.items[visit.number]
        check = self._check(visit)
        if visit.look == SWEEP:
            self._glance(visit, check)
            return
        self._pass_time(item, visit.day)
        floors = self._write_lines(item, check, visit.day)
        check["grade"] = grade(floors, check["examiner"])
        check["next_check_on"] = self._next(item, visit.day)
        check["summary_observed"] = _summary(self.register.open_wounds(item.number))
        self._cover(item, check, visit.day)
        self._follow(visit, item)

    def _check(self, visit: Visit) -> Row:
        examiner = (
            CONSERVATOR
            if visit.bench and visit.day > date(2022, 3, 1)
            else examiner_in(visit.day, self.chance.random())
        )
        minutes = {SWEEP: (1, 3), INSPECTION: (8, 35), EXAMINATION: (30, 90)}[visit.look]
        return self.register.add(
            "condition_check",
            {
                "check_id": self.register.next("condition_check", f"C{visit.day.year % 100}-"),
                "object_id": visit.number,
                "survey_id": visit.survey,
                "checked_on": visit.day,
                "minutes": self.chance.randint(*minutes),
                "examiner": examiner,
                "witness": "",
                "occasion": visit.occasion,
                "visit": visit.visit,
                "look": visit.look,
                "method": METHODS[visit.look],
                "definitions_version": "1",
                "grade": "",
                "grade_reason": "",
                "summary_observed": "",
                "next_check_on": "",
                "source": "own",
                "signed_on": visit.day if visit.look != SWEEP and visit.day.year >= 2023 else "",
            },
        )

    def _glance(self, visit: Visit, check: Row) -> None:
        if visit.visit in ("not_found", "not_reachable"):
            return
        known = [w for w in self.register.open_wounds(visit.number) if w.last]
        check["grade"] = "fair" if len(known) > 1 or self.chance.random() < 0.15 else "good"

    def _pass_time(self, item: Item, day: date) -> None:
        """Before the first inspection all is old; between inspections things happen."""
        last, register = self.seen.get(item.number), self.register
        if last is None:
            register.wounds[item.number] = old_damage(item, self.chance)
        elif last < day:
            for wound in register.open_wounds(item.number):
                evolve(wound, last, day, self.chance, register.tally)
            register.wounds[item.number] += new_damage(item, last, day, self.chance, register.tally)
            for mend in register.open_mends(item.number):
                age(mend, max(last, mend.born or last), day, self.chance, register.tally)
        self.seen[item.number] = day

    def _write_lines(self, item: Item, check: Row, day: date) -> list[int]:
        floors = []
        for wound in self.register.open_wounds(item.number):
            if not wound.number:
                wound.number, wound.first_seen = self.register.next("damage", "D"), day
            row = self.register.add("observation", line(wound, check["check_id"], self.chance))
            if row.get("activity") and not wound.flaw:
                floors.append(floor_of(wound, row["activity"], row["severity"]))
        for mend in self.register.open_mends(item.number):
            if not mend.recorded:
                mend.number, mend.recorded = self.register.next("repair", "R"), True
            self.register.add("repair_state", state(mend, check["check_id"]))
            floors.append(floor_of_repair(mend.state, mend.function))
        return floors

    def _next(self, item: Item, day: date) -> date | str:
        moving = any(w.last.get("activity") in ("active", "suspected") for w in self.register.open_wounds(item.number))
        if moving:
            return day + timedelta(self.chance.choice([180, 270, 365]))
        return day + timedelta(365) if item.group == "unstable_painted" else ""

    def _cover(self, item: Item, check: Row, day: date) -> None:
        """Flat things have a reverse; from 2021 on it was written down whether anybody saw it."""
        if item.shape not in ("flat", "flat_round") or item.parts or day.year < 2021:
            return
        add = self.register.add
        add("coverage", {"check_id": check["check_id"], "part": "whole", "side": "front", "seen": "seen", "why": ""})
        framed = {"seen": "not_accessible", "why": "sealed frame, reverse never seen"}
        plain = {"seen": "seen", "why": ""}
        add(
            "coverage",
            {"check_id": check["check_id"], "part": "whole", "side": "reverse", **(framed if item.framed else plain)},
        )

    def _follow(self, visit: Visit, item: Item) -> None:
        """Work at the bench, or a place in its queue, or a second look in some months."""
        if visit.bench == "start":
            done = self.bench.treat(item, visit.day)
            heapq.heappush(self.ahead, Visit(done, item.number, EXAMINATION, "after_treatment", bench="end"))
            return
        if item.missing and visit.day.year >= LAST_SEEN:
            return
        day = None if visit.bench else self.bench.place(item, visit.day)
        if day:
            heapq.heappush(self.ahead, Visit(day, item.number, EXAMINATION, "before_treatment", bench="start"))
        elif (
            any(w.last.get("activity") == "active" for w in self.register.open_wounds(item.number))
            and self.chance.random() < 0.5
        ):
            again = visit.day + timedelta(self.chance.randint(90, 200))
            if again < TODAY:
                heapq.heappush(self.ahead, Visit(again, item.number, INSPECTION, "follow_up"))


def _summary(wounds: list[SimulatedDamage]) -> str:
    words = [
        f"{w.kind.replace('_', ' ')} {w.side}" for w in wounds if w.last.get("activity") in ("active", "suspected")
    ]
    return "Moving or suspected: " + ", ".join(words) if words else ""
