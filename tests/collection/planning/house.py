"""A small invented house for tests of plans on records: four objects, one place, options, money, hours, a loan."""

from datetime import date
from functools import cache

from tests.collection.risk.builders import check, register, triaged

AS_OF = date(2026, 9, 30)
OBJECTS = ("A", "B", "C", "D")


def option(number, of, hours=4.0, money=100, **more):
    return {
        "option_id": number, "object_id": of, "skill": "technician", "hours_likely": hours, "materials_cost": money,
        "currency": "EUR", "status": "open", "benefit": "prevents_loss", "steps": ["consolidate"],
    } | more  # fmt: skip


def house(**more):
    """The records; what is given takes the place of a record's rows."""
    rows = {
        "location": [{"location_id": "E1", "name": "East Store"}],
        "object": [
            {"object_id": o, "title": f"Plaque {o}", "enamel_area_mm2": 10_000.0, "location_id": "E1", "insured_value": v,
             "value_points": v} for o, v in zip(OBJECTS, (10, 30, 10, 3), strict=True)
        ],
        "part": [{"object_id": o, "part": "whole"} for o in OBJECTS],
        "condition_check": [check(f"k{o}", o, "2026-08-01") for o in OBJECTS],
        "damage": [
            {"damage_id": f"D{o}", "object_id": o, "part": "whole", "kind": "lifting", "visibility": "face"} for o in OBJECTS
        ],
        "observation": [
            {"check_id": f"k{o}", "damage_id": f"D{o}", "activity": "active", "area_mm2": 300.0} for o in OBJECTS
        ],
        "option": [option(f"{o}1", o) for o in OBJECTS]
        + [option("P1", None, 2.0, 150, location_id="E1", steps=["rehouse"])],
        "option_effect": [{"option_id": f"{o}1", "hazard_id": f"damage:D{o}", "rate_left": 0.1} for o in OBJECTS],
        "location_effect": [{"option_id": "P1", "hazard_group": "other", "rate_factor": 0.5}],
        "year_money": [
            {"year": y, "fund": "general", "money": 250, "currency": "EUR"} for y in (2026, 2027, 2028, 2029)
        ],
        "year_hours": [{"year": y, "skill": "technician", "hours": 12.0} for y in (2026, 2027, 2028, 2029)],
    }  # fmt: skip
    return register(**{**rows, **more})


def assessed_house(day=AS_OF, **more):
    """The house assessed on a day; as it is, once for all tests."""
    return triaged(house(**more), day) if more else _plain(day)


@cache
def _plain(day):
    return triaged(house(), day)
