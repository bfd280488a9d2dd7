"""Records of one object for tests of attention and of travel; {o} is its number, a check C{o}, a damage D{o}."""

from collections.abc import Mapping
from datetime import date, datetime, timedelta
from typing import Any

import polars as pl

from collection.as_of import as_known
from collection.facts.facts import Facts
from collection.questions.triage import Triage
from collection.risk.rates import RatesTable
from collection.snapshot import Collection
from tests.collection.risk.builders import AS_OF, assessed, check, register

Records = dict[str, list[dict[str, Any]]]
LITTLE, MUCH = {"extent_band": "under_0_1"}, {"extent_band": "over_50"}
PLACES: Records = {
    "location": [{"location_id": "dry"}, {"location_id": "damp"}]
    + [{"location_id": p} for p in ("drip", "mended", "dust")]
    + [{"location_id": "under the drip", "within": "drip"}]
    + [{"location_id": "case", "kind": "display_case"}],
    "place_check": [
        {"location_id": "drip", "seen_on": date(2026, 9, 1), "fault": "dripping"},
        {"location_id": "mended", "seen_on": date(2026, 9, 1), "fault": "off_gassing_material"},
        {"location_id": "dust", "seen_on": date(2026, 9, 1), "fault": "dust"},
    ],
    "action": [
        {"action_id": "place", "location_id": "mended", "fault": "off_gassing_material", "what": "place_mended"}
        | {"done_on": date(2026, 9, 2)}
    ],
}


def day(text: str) -> date:
    return date.fromisoformat(text)


def together(*several: Mapping[str, list[dict[str, Any]]]) -> Records:
    """The rows of all of them."""
    rows: Records = {}
    for records in several:
        for name, its in records.items():
            rows.setdefault(name, []).extend(its)
    return rows


def of(**more: Any) -> Records:
    """What the object itself says."""
    return {"object": [more]}


def looked(on: str = "2026-06-01", number: str = "C{o}", **more: Any) -> Records:
    """One check by inspection that found nothing."""
    return {"condition_check": [check(number, "{o}", on, **more)]}


def damage(kind: str, activity: str | None, number: str = "D{o}", at: str = "C{o}", **line: Any) -> Records:
    """One damage with its line at a check."""
    own = {name: line.pop(name) for name in ("onset", "first_seen_on", "part") if name in line}
    return {
        "damage": [
            {"damage_id": number, "object_id": "{o}", "part": "whole", "kind": kind, "visibility": "side"} | own
        ],
        "observation": [{"check_id": at, "damage_id": number, "activity": activity, **LITTLE, **line}],
    }


def seen(kind: str, activity: str | None, on: str = "2026-06-01", **line: Any) -> Records:
    """One check by inspection that saw one damage."""
    return together(looked(on), damage(kind, activity, **line))


def repair(function: str, stability: str, material: str = "wax", number: str = "R{o}", **state: Any) -> Records:
    """One repair with its state at the check."""
    return {
        "repair": [
            {"repair_id": number, "object_id": "{o}", "part": "whole", "function": function, "material": material}
        ],
        "repair_state": [{"check_id": "C{o}", "repair_id": number, "stability": stability, **LITTLE, **state}],
    }


def repaired(function: str, stability: str, **state: Any) -> Records:
    """One check that saw one repair."""
    return together(looked(), repair(function, stability, **state))


def decided(on: str = "2026-06-02", review: str | None = "2030-01-01", choice: str = "leave", **more: Any) -> Records:
    row = {
        "decision_id": "N{o}",
        "object_id": "{o}",
        "decided_on": day(on),
        "choice": choice,
        "reason": "lost long ago",
    }
    return {"decision": [row | {"review_on": review and day(review)} | more]}


def acted(what: str, on: str = "2026-07-01", **more: Any) -> Records:
    """An interim action for the object."""
    return {"action": [{"action_id": "A{o}", "object_id": "{o}", "what": what, "done_on": day(on)} | more]}


def danger(agent: str = "radium", **more: Any) -> Records:
    return {"danger_to_people": [{"object_id": "{o}", "part": "whole", "agent": agent, "basis": "presumed"} | more]}


def moved(on: str, **more: Any) -> Records:
    row = {"move_id": "M{o}", "object_id": "{o}", "moved_from": "dry", "moved_to": "dry", "moved_on": day(on)}
    return {"move": [row | more]}


def piece(**more: Any) -> Records:
    return {"fragment": [{"fragment_id": "F{o}", "object_id": "{o}", "status": "in_place_loose"} | more]}


def loan(starts: str = "2027-01-01", number: str = "L{o}", **more: Any) -> Records:
    """A loan of one venue for half a year."""
    return {
        "loan": [{"loan_id": number, "direction": "out"}],
        "loan_leg": [
            {"loan_id": number, "leg": 1, "starts_on": day(starts), "ends_on": day(starts) + timedelta(days=180)}
        ],
        "loan_object": [{"loan_id": number, "object_id": "{o}", "part": "whole"} | more],
    }


def asked(on: str | None, status: str = "asked_for", **more: Any) -> Records:
    """A loan with the day it was asked for, and how far it is."""
    records = loan(**more)
    records["loan"] = [row | {"asked_on": on and day(on), "status": status} for row in records["loan"]]
    return records


def requirement(**more: Any) -> Records:
    return {"requirement": [{"object_id": "{o}"} | more]}


def target(**more: Any) -> Records:
    return {"target": [{"target_id": "T{o}", "object_id": "{o}", "rh_high": 45.0, "reason": "weeps"} | more]}


def filled(value: Any, number: str) -> Any:
    """The records with {o} replaced by the object's number."""
    if isinstance(value, str):
        return value.replace("{o}", number)
    if isinstance(value, dict):
        return {key: filled(its, number) for key, its in value.items()}
    return [filled(its, number) for its in value] if isinstance(value, list) else value


def damp_hours() -> pl.DataFrame:
    """Two years of readings of the damp place: a humidity of 60 % all the time."""
    at = [datetime(2024, 11, 1) + timedelta(hours=12 * n) for n in range(2 * 730)]
    columns = {"location_id": ["damp"] * len(at), "hour": at, "temperature_c": 20.0, "rh_percent": 60.0}
    return pl.DataFrame(columns, schema_overrides={"hour": pl.Datetime("us")})


def whole(cases: Mapping[str, Records]) -> Collection:
    """All cases in one collection, each object 100 x 80 mm with one part."""
    several = [PLACES]
    for name, case in cases.items():
        plain = {"object_id": name, "height_mm": 100.0, "width_mm": 80.0}
        own = together(of(), case)
        record = {key: value for row in own["object"] for key, value in row.items()}
        several.append(filled(own, name) | {"object": [plain | record], "part": [{"object_id": name, "part": "whole"}]})
    return register(**together(*several))


def triage_of(cases: Mapping[str, Records]) -> Triage:
    """The cases assessed on the day, with the readings of the damp place."""
    collection = whole(cases)
    known = as_known(collection, AS_OF)
    return Triage.of(known, RatesTable.of(known), assessed(collection, damp_hours()))


def facts_of(cases: Mapping[str, Records]) -> Facts:
    """What rules look at."""
    triage = triage_of(cases)
    return Facts(triage.collection, triage.risk, triage.rates, worded=True)
