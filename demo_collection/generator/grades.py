"""How an examiner of the invented museum grades: the worst single condition; the strict one a grade lower."""

from demo_collection.generator.histories import SimulatedDamage
from demo_collection.generator.museum import STRICT

GRADES = ("good", "fair", "poor", "unacceptable")
QUICK_YEARS = 4
MODERATE_FROM, SEVERE_FROM = 0.006, 0.06  # shares of the enamel
FLOORS = {
    "stable": {"minor": 0, "moderate": 0, "severe": 1, "critical": 1},
    "unknown": {"minor": 0, "moderate": 1, "severe": 1, "critical": 2},
    "suspected": {"minor": 1, "moderate": 2, "severe": 2, "critical": 2},
    "slow": {"minor": 1, "moderate": 2, "severe": 2, "critical": 3},
    "fast": {"minor": 2, "moderate": 2, "severe": 3, "critical": 3},
}
OF_REPAIR = {"failing": 1, "harmful": 2}
FAILED = {"holds": 2, "fills": 1, "covers": 1, "tints": 0}


def floor_of(wound: SimulatedDamage, activity: str, severity: str) -> int:
    """Best grade that one line allows."""
    if activity == "active":
        quick = wound.its.get("quick") or wound.its["years"] <= QUICK_YEARS
        return FLOORS["fast" if quick else "slow"][severity]
    return FLOORS[activity if activity in FLOORS else "stable"][severity]


def floor_of_repair(state: str, function: str) -> int:
    """Best grade that one repair allows."""
    return FAILED[function] if state == "failed" else OF_REPAIR.get(state, 0)


def grade(floors: list[int], examiner: str) -> str:
    """The overall grade; while he was there it was people that changed, not objects."""
    worst = max(floors, default=0)
    if examiner == STRICT and floors:
        worst = min(worst + 1, len(GRADES) - 1)
    return GRADES[worst]


def severity(wound: SimulatedDamage) -> str:
    """How bad, by its share of the part."""
    if wound.share < MODERATE_FROM:
        return "minor"
    return "moderate" if wound.share < SEVERE_FROM else "severe"
