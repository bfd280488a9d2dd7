"""The treatment bench: what it took on each year, what it did, and the hours it kept."""

import random
from datetime import date, timedelta
from typing import Any

from demo_collection.generator.histories import SimulatedDamage
from demo_collection.generator.items import Item
from demo_collection.generator.museum import BENCH, CONSERVATOR, CURRENCY, KEEPER, TODAY
from demo_collection.generator.register import Register
from demo_collection.generator.repairs import SimulatedRepair

Row = dict[str, Any]
PLACES = {2017: 4, 2018: 6, 2019: 6, 2020: 3, 2021: 5, 2022: 5, 2023: 8, 2024: 7, 2025: 6, 2026: 5}  # 55 in all
NOBODY_SIGNED = "T0023"
URGENT = 5  # treatments begun without an option on paper
COATINGS_OFF = 4  # after four the museum stopped: too slow, and not without loss
BAD = ("failed", "harmful")
TAKEN_WHILE_FAILING = 0.15
STEPS = {
    "consolidate": ["tests", "consolidate"],
    "desalt": ["desalt", "microclimate"],
    "metal_clean": ["local_clean", "metal_clean"],
    "metal_protect": ["metal_clean", "metal_protect"],
    "wire_reset": ["wire_reset"],
    "fill": ["tests", "fill", "inpaint"],
    "remount": ["remount"],
}
HOURS = {
    "consolidate": 5,
    "desalt": 3,
    "metal_clean": 4,
    "metal_protect": 3,
    "wire_reset": 3,
    "fill": 6,
    "remount": 2.5,
}
REMOVAL_HOURS, OVERRUN = {"coating_removal": 9.0, "repair_removal": 4.0}, (1.55, 2.4)


class Bench:
    """Places by year, and the work in hand."""

    def __init__(self, register: Register, chance: random.Random) -> None:
        self.register, self.chance = register, chance
        self.taken = 0
        self.waiting: dict[str, list[SimulatedDamage | SimulatedRepair]] = {}

    def place(self, item: Item, day: date) -> date | None:
        """A day at the bench for what cannot wait, if there is a place in that or the next year."""
        work = self._work(item.number)
        if item.number in self.waiting or not work:
            return None
        for wait in (self.chance.randint(25, 150), 320, 480):
            start = day + timedelta(wait)
            places = sum(
                n for year, n in PLACES.items() if year <= start.year
            )  # what a year left unused the next can have
            if self.taken < places and start < TODAY - timedelta(60):
                self.taken += 1
                self.waiting[item.number] = work
                return start
        return None

    def _work(self, number: str) -> list[SimulatedDamage | SimulatedRepair]:
        wounds = [
            w for w in self.register.open_wounds(number) if w.last.get("activity") == "active" and "treat" in w.its
        ]
        mends = [
            m for m in self.register.open_mends(number) if m.recorded and m.function != "tints" and self._cannot_stay(m)
        ]
        return [*wounds, *mends]

    def _cannot_stay(self, mend: SimulatedRepair) -> bool:
        """Failing repairs mostly wait; of the coatings only the first few were taken off."""
        if mend.coating:
            return mend.state in BAD and self._coatings_off() < COATINGS_OFF
        return mend.state in BAD or (mend.state == "failing" and self.chance.random() < TAKEN_WHILE_FAILING)

    def _coatings_off(self) -> int:
        closed = [m for mends in self.register.mends.values() for m in mends if m.coating and m.closed_on]
        ahead = [m for work in self.waiting.values() for m in work if isinstance(m, SimulatedRepair) and m.coating]
        return len(closed) + len(ahead)

    def treat(self, item: Item, start: date) -> date:
        """One treatment, written down; returns the day it was finished."""
        finish = start + timedelta(self.chance.randint(3, 26))
        number = self.register.next("treatment", "T")
        work = self.waiting.pop(item.number)
        steps, likely, over = self._steps(work)
        option = self._option(item, work, steps, likely)
        actual = likely * self.chance.uniform(0.85, 1.2) + over * (self.chance.uniform(*OVERRUN) - 1)
        self._write(item, number, option, start, finish, round(actual * 4) / 4, steps, over > 0)
        for each in work:
            self._finish(each, number, finish)
        return finish

    def _steps(self, work: list[SimulatedDamage | SimulatedRepair]) -> tuple[list[str], float, float]:
        """Steps, likely hours, and how many of those are for taking off old repairs."""
        steps, likely, over = [], 1.0, 0.0
        for each in work:
            if isinstance(each, SimulatedRepair):
                step = "coating_removal" if each.coating else "repair_removal"
                steps.append(step)
                over += REMOVAL_HOURS[step]
            else:
                steps += STEPS[each.its["treat"]]
                likely += HOURS[each.its["treat"]]
        return list(dict.fromkeys(steps)), likely + over, over

    def _option(
        self, item: Item, work: list[SimulatedDamage | SimulatedRepair], steps: list[str], likely: float
    ) -> str:
        if len(self.register.rows.get("treatment", ())) < URGENT:
            return ""
        row = option_row(self.register.next("option", "O"), item.number, steps, likely, "done", self.chance)
        self.register.add("option", row)
        for each in work:
            effect = {
                "option_id": row["option_id"],
                "hazard_id": hazard(each),
                "rate_left": self.chance.choice([0, 0.1, 0.2]),
            }
            self.register.add("option_effect", effect)
        return str(row["option_id"])

    def _write(
        self,
        item: Item,
        number: str,
        option: str,
        start: date,
        finish: date,
        hours: float,
        steps: list[str],
        ran_over: bool,
    ) -> None:
        self.register.add(
            "treatment",
            {
                "treatment_id": number,
                "option_id": option,
                "object_id": item.number,
                "started_on": start,
                "finished_on": finish,
                "done_by": _at_the_bench(start),
                "authorised_by": "" if number == NOBODY_SIGNED else KEEPER,
                "hours": hours,
                "materials_cost": f"{4 + 3 * len(steps):.2f}",
                "currency": CURRENCY,
                "steps": ";".join(steps),
                "follow_up_on": finish + timedelta(182),
                "report_on": finish + timedelta(9),
                "note": "taking off the old repair took far longer than thought" if ran_over else "",
            },
        )

    def _finish(self, each: SimulatedDamage | SimulatedRepair, number: str, day: date) -> None:
        each.closed_on = day
        if isinstance(each, SimulatedRepair):
            each.removed_by = number
            if each.function != "covers":
                self._modern(each.item, each.part, each.function, each.area_mm2, number, day)
            return
        each.closed_by = number
        if each.its["treat"] in ("consolidate", "fill"):
            function = "holds" if each.its["treat"] == "consolidate" else "fills"
            self._modern(each.item, each.part, function, round(each.size, 1), number, day)

    def _modern(self, item: Item, part: str, function: str, area: float, number: str, day: date) -> None:
        """A fill or a join of our own time, documented."""
        mend = SimulatedRepair(
            item,
            part,
            function,
            "acrylic_b72",
            day.isoformat(),
            "sound",
            area,
            "near",
            certainty="documented",
            treatment=number,
            born=day,
        )
        self.register.mends.setdefault(item.number, []).append(mend)
        self._used(part, function, area, number, day)

    def _used(self, part: str, function: str, area: float, number: str, day: date) -> None:
        """Material at one place in one treatment, written down once."""
        used = self.register.rows.get("material_use", [])
        if any((u["treatment_id"], u["part"], u["function"]) == (number, part, function) for u in used):
            return
        self.register.add(
            "material_use",
            {
                "treatment_id": number,
                "part": part,
                "material": "acrylic_b72",
                "function": function,
                "soluble_in": "acetone",
                "batch": f"B{day.year}-{1 + day.month // 7}",
                "area_mm2": area,
            },
        )


def _at_the_bench(day: date) -> str:
    if day > date(2022, 3, 1):
        return CONSERVATOR
    return BENCH if day > date(2019, 2, 1) else "Ines Harrowgate"


def hazard(each: SimulatedDamage | SimulatedRepair) -> str:
    """Name of the hazard that a damage or a repair makes."""
    return f"repair:{each.number}" if isinstance(each, SimulatedRepair) else f"damage:{each.number}"


def option_row(number: str, object_id: str, steps: list[str], likely: float, status: str, chance: random.Random) -> Row:
    """Row of record option."""
    removal = any(s.endswith("removal") for s in steps)
    return {
        "option_id": number,
        "object_id": object_id,
        "location_id": "",
        "aim": "restoration" if "fill" in steps else "remedial",
        "benefit": "shows_more" if "fill" in steps else "prevents_loss",
        "steps": ";".join(steps),
        "loss_in_doing": chance.choice([0, 0, 0.001, 0.003]) if not removal else chance.choice([0.003, 0.01]),
        "skill": "technician" if steps == ["remount"] else "enamel_conservator",
        "hours_low": round(likely * 0.7, 1),
        "hours_likely": round(likely, 1),
        "hours_high": round(likely * 1.5, 1),
        "tests_hours": 0.5 if "tests" in steps else "",
        "waiting_days": 7 if "consolidate" in steps else "",
        "materials_cost": f"{4 + 3 * len(steps):.2f}",
        "currency": CURRENCY,
        "estimate_class": "class_b" if status != "open" else "class_c",
        "retreatability": "hardly" if removal else "yes",
        "compensation": "visible_near" if "fill" in steps else "none",
        "requires": "conservator",
        "alternative_to": "",
        "status": status,
    }
