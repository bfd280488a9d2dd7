"""A small museum to plan for: what needs attention now, with and without proposals, in one damp room and elsewhere."""

from datetime import date
from functools import cache

from collection.questions.triage import Triage
from tests.collection.risk.builders import check, register, triaged

MONEY = {"fund": "house", "currency": "EUR"}
OPTION = {"status": "open", "skill": "enamel_conservator", "steps": ["consolidate"], "currency": "EUR"}


def lifting(number: str) -> dict:
    return {"damage_id": f"D{number}", "object_id": number, "part": "whole", "kind": "lifting", "visibility": "front"}


def seen(number: str) -> dict:
    return {"check_id": f"C{number}", "damage_id": f"D{number}", "activity": "active", "area_mm2": 200.0}


def option(number: str, of: str, hours: float | None, money: float, **more) -> dict:
    return OPTION | {"option_id": number, "object_id": of, "hours_likely": hours, "materials_cost": money} | more


@cache
def house(money: float = 500.0, hours: float = 60.0) -> Triage:
    """A, B and D lift; A has two proposals, B one, D none; E lifts too, with a proposal nobody estimated; C stands under
    a drip, and only for its place there is a proposal. F is sound.
    """
    objects = "ABCDEF"
    return triaged(
        register(
            object=[
                {"object_id": o, "title": f"Plaque {o}", "enamel_area_mm2": 10_000.0, "value_points": 10}
                | {"location_id": "drip" if o == "C" else "dry", "status": "in_collection"}
                for o in objects
            ],
            location=[{"location_id": "dry"}, {"location_id": "drip", "name": "Room under the roof"}],
            place_check=[{"location_id": "drip", "seen_on": date(2026, 9, 1), "fault": "dripping"}],
            condition_check=[check(f"C{o}", o) for o in objects],
            damage=[lifting(o) for o in "ABDE"],
            observation=[seen(o) for o in "ABDE"],
            option=[
                option("A1", "A", 10.0, 100),
                option("A2", "A", 40.0, 90),
                option("B1", "B", 20.0, 200),
                option("E1", "E", None, 50),
                OPTION | {"option_id": "P1", "location_id": "drip", "hours_likely": 2.0, "materials_cost": 300.0}
                | {"skill": "technician"},
            ],
            option_effect=[
                {"option_id": o, "hazard_id": f"damage:D{o[0]}", "rate_left": 0.1} for o in ("A1", "A2", "B1", "E1")
            ],
            year_money=[{"year": y, "money": money} | MONEY for y in (2027, 2028, 2029)],
            year_hours=[
                {"year": y, "skill": skill, "hours": h}
                for y in (2027, 2028, 2029)
                for skill, h in (("enamel_conservator", hours), ("technician", 10.0))
            ],
        )
    )  # fmt: skip
