"""Thirty objects, one a rule: the class and the reason expected of each, written from section 8 before the code."""

from datetime import date
from typing import Any

import polars as pl
import pytest

from collection.as_of import as_known
from collection.attention.classify import attention, reasons
from collection.risk.object_risk import Risk
from collection.risk.rates import RatesTable
from collection.snapshot import Collection
from schemas.vocabularies import vocabulary
from tests.collection.risk.builders import AS_OF, assessed, check, register

SECURE, PLACE, UNSEEN, LEFT, PLAN, AGAIN, WATCH, ORDER = vocabulary("attention").term
SMALL = {"extent_band": "under_0_1"}
# name: (records beside the object, class, words of the reason); {o} is the object's number, a damage is D{o}, a check C{o}.
Case = tuple[dict[str, list[dict[str, Any]]], str, str]


def seen(kind: str, activity: str | None, day: str = "2026-06-01", **line: Any) -> dict[str, list[dict[str, Any]]]:
    """One check by inspection that saw one damage."""
    return {
        "condition_check": [check("C{o}", "{o}", day)],
        "damage": [{"damage_id": "D{o}", "object_id": "{o}", "part": "whole", "kind": kind, "visibility": "side"}],
        "observation": [{"check_id": "C{o}", "damage_id": "D{o}", "activity": activity, **SMALL, **line}],
    }


def repaired(function: str, stability: str, material: str = "wax", day: str = "2026-06-01") -> dict[str, Any]:
    """One check that saw one repair."""
    repair = {"repair_id": "R{o}", "object_id": "{o}", "part": "whole", "function": function, "material": material}
    state = {"check_id": "C{o}", "repair_id": "R{o}", "stability": stability, **SMALL}
    return {"condition_check": [check("C{o}", "{o}", day)], "repair": [repair], "repair_state": [state]}


def looked(day: str = "2026-06-01", **more: Any) -> dict[str, list[dict[str, Any]]]:
    """One check that found nothing."""
    return {"condition_check": [check("C{o}", "{o}", day, **more)]}


def decided(day: str, review: str, choice: str = "leave", **more: Any) -> dict[str, list[dict[str, Any]]]:
    row = {"decision_id": "N{o}", "object_id": "{o}", "decided_on": date.fromisoformat(day), "choice": choice}
    return {"decision": [row | {"reason": "lost long ago", "review_on": date.fromisoformat(review)} | more]}


def danger(**more: Any) -> dict[str, list[dict[str, Any]]]:
    row = {"object_id": "{o}", "part": "whole", "agent": "radium", "basis": "presumed"}
    return {"danger_to_people": [row | more]}


OVER = {"extent_band": "over_50"}
MOVE = {"move_id": "M{o}", "object_id": "{o}", "moved_from": "dry", "moved_to": "dry"}
LOOSE = {"fragment_id": "F{o}", "object_id": "{o}", "status": "in_place_loose"}
SAFE = {"precautions": "bagged", "basis": "tested"}
STABLE = seen("crack", "stable")

CASES: dict[str, Case] = {
    "active lifting": (seen("lifting", "active"), SECURE, "active lifting, seen 2026-06-01"),
    "active flaking": (seen("flaking", "active"), SECURE, "active flaking"),
    "active sugaring": (seen("sugaring", "active"), SECURE, "active sugary breakdown"),
    "loose fragment as damage": (seen("fragment_loose", "unknown"), SECURE, "fragment loose in place"),
    "loose fragment as a piece": (looked() | {"fragment": [LOOSE]}, SECURE, "lies loose in its place"),
    "mount pressing, moving": (seen("mount_stress", "active"), SECURE, "presses or snags"),
    "repair that holds failed": (repaired("holds", "failed"), SECURE, "failed repair that holds (wax)"),
    "harmful cover": (repaired("covers", "harmful"), SECURE, "damaging original material"),
    "danger presumed": (looked() | danger(), SECURE, "not yet made safe: radium"),
    "active weeping": (seen("weeping", "active"), PLACE, "active weeping"),
    "suspected crizzling": (seen("crizzling", "suspected"), PLACE, "suspected crizzling"),
    "spreading rust": (seen("fe_rust", "active"), PLACE, "active rust"),
    "neighbour that drips": (
        looked() | {"object": [{"location_id": "under the drip"}]},
        PLACE,
        "drips, seen 2026-09-01",
    ),
    "never checked": ({}, UNSEEN, "nobody has looked"),
    "catalogue remark only": (looked(look="remark", grade="poor"), UNSEEN, "only a remark"),
    "not found at an audit": (looked(visit="not_found"), UNSEEN, ""),
    "left on record": (seen("chip", "stable") | decided("2026-06-02", "2030-01-01"), LEFT, "lost long ago"),
    "decision never hides now": (
        seen("lifting", "active") | decided("2026-06-02", "2030-01-01"),
        SECURE,
        "active lifting",
    ),
    "decision lapsed by its day": (seen("chip", "stable") | decided("2026-06-02", "2026-10-01"), ORDER, "2026-06-01"),
    "decision older than the look": (seen("chip", "stable") | decided("2026-05-31", "2030-01-01"), ORDER, "nothing"),
    "above the line and sure": (seen("dent", "active", **OVER), PLAN, "of its value a year"),
    "above the line, unsure": (seen("bend", "active", extent_band=None), AGAIN, "unsure: the figures span 1.9 decades"),
    "suspected in a fast kind": (seen("wire_lift", "suspected"), AGAIN, "a kind that can move fast"),
    "look overdue": (looked("2020-01-01"), AGAIN, "due on 2025-01-01"),
    "accident since": (
        STABLE | {"move": [MOVE | {"moved_on": date(2026, 7, 1), "accident": True}]},
        AGAIN,
        "accident on the way",
    ),
    "figures disagree": (
        {
            "condition_check": [check("B{o}", "{o}", "2025-06-01"), check("C{o}", "{o}")],
            "damage": STABLE["damage"],
            "observation": [
                {"check_id": "B{o}", "damage_id": "D{o}", "activity": "stable", "length_mm": 4.0},
                {"check_id": "C{o}", "damage_id": "D{o}", "activity": "stable", "length_mm": 9.0}
                | {"change": "unchanged", "compared_with": "B{o}", "measurement_error": 0.5},
            ],
        },
        AGAIN,
        "said to be unchanged, but length [mm] 9.0 after 4.0",
    ),
    "dormant weeping nobody measured": (seen("weeping", "dormant"), AGAIN, "a kind that can move fast"),
    "repair letting go": (repaired("fills", "failing"), WATCH, "letting go"),
    "lifting, not moving": (seen("lifting", "stable"), WATCH, "parted from metal"),
    "made safe and sound": (looked() | danger(**SAFE), ORDER, "nothing active"),
    "stable crack": (STABLE, ORDER, "next look by 2031-06-01"),
    "failed tint": (repaired("tints", "harmful"), WATCH, "letting go"),
    "missing": (looked() | {"object": [{"status": "missing"}]}, ORDER, "Missing"),
    "wire lifted beside a fresh chip": (
        seen("wire_lift", "stable")
        | {
            "damage": [
                {"damage_id": "D{o}", "object_id": "{o}", "part": "whole", "kind": "wire_lift"},
                {"damage_id": "E{o}", "object_id": "{o}", "part": "whole", "kind": "chip", "onset": "since_last_look"}
                | {"first_seen_on": "2026-06-01"},
            ]
        },
        SECURE,
        "beside fresh damage",
    ),
}


def filled(value: Any, number: str) -> Any:
    """The records with {o} replaced by the object's number."""
    if isinstance(value, str):
        return value.replace("{o}", number)
    if isinstance(value, dict):
        return {key: filled(its, number) for key, its in value.items()}
    return [filled(its, number) for its in value] if isinstance(value, list) else value


@pytest.fixture(scope="module")
def whole() -> tuple[Collection, Risk, RatesTable]:
    """All cases in one collection."""
    records: dict[str, list[dict[str, Any]]] = {
        "object": [],
        "part": [],
        "location": [
            {"location_id": "dry"},
            {"location_id": "drip"},
            {"location_id": "under the drip", "within": "drip"},
        ],
        "place_check": [{"location_id": "drip", "seen_on": date(2026, 9, 1), "fault": "dripping"}],
    }
    for name, (case, _, _) in CASES.items():
        own = {"object": [{}]} | case
        for record, rows in filled(own, name).items():
            plain = {"object_id": name, "height_mm": 100.0, "width_mm": 80.0} if record == "object" else {}
            records.setdefault(record, []).extend(plain | row for row in rows)
        records["part"].append({"object_id": name, "part": "whole"})
    collection = register(**records)
    return as_known(collection, AS_OF), assessed(collection), RatesTable.of(collection)


@pytest.fixture(scope="module")
def told(whole: tuple[Collection, Risk, RatesTable]) -> dict[str, dict[str, Any]]:
    collection, risk, rates = whole
    classes = attention(risk, collection, rates)
    assert classes["object_id"].is_unique().all()
    assert classes.height == len(CASES)
    why = reasons(classes, risk, collection, rates, list(CASES))
    return {row["object_id"]: row for row in why.to_dicts()}


@pytest.mark.parametrize("name", CASES)
def test_each_object_has_the_class_and_the_reason_expected(name, told):
    _, expected, words = CASES[name]

    assert told[name]["attention"] == expected, told[name]
    assert any(words in reason for reason in told[name]["reasons"]), told[name]


def test_every_class_occurs(told):
    assert {row["attention"] for row in told.values()} == set(vocabulary("attention").term)


def test_an_unknown_rule_is_an_error_with_its_dotted_key(monkeypatch):
    from collection.attention import classify as module
    from schemas.errors import VocabularyError

    monkeypatch.setattr(module, "RULES", {})

    with pytest.raises(VocabularyError, match="attention.toml, term.now_secure.rule"):
        module._rules()


def test_first_step_is_said(whole):
    collection, risk, rates = whole

    steps = attention(risk, collection, rates).filter(pl.col("attention") == SECURE)["first_step"].unique().item()

    assert steps.startswith("move only on its own tray")
