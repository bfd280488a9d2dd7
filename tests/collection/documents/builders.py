"""A small collection worked by hand: one plaque on loan, and a plain box nobody examined."""

from datetime import date, datetime

import polars as pl

from schemas.tables import RECORDS, stored

DAY = date(2026, 9, 30)


def frame(record: str, *rows: dict[str, object]) -> pl.DataFrame:
    """Rows of a record; a partial date gets its first and last day."""
    full = [
        row
        | {
            n: v
            for c in RECORDS[record].columns
            for n, v in zip((s[0] for s in stored(c)), _days(row.get(c.name)), strict=False)
        }
        for row in rows
    ]
    schema = {n: t for n, t in RECORDS[record].schema().items() if any(n in row for row in full)}
    return pl.DataFrame(full, schema=schema)


def _days(value: object) -> tuple[object, ...]:
    return (
        (value, date.fromisoformat(value), date.fromisoformat(value))
        if isinstance(value, str) and len(value) == 10 and value[4] == "-"
        else (value,)
    )


def at(text: str) -> datetime:
    return datetime.fromisoformat(text)


def small_collection() -> dict[str, pl.DataFrame]:
    """One plaque on loan: two damages, a flaw of making, an old fill, a danger; a second, plain object."""
    return {
        "object": frame(
            "object",
            {"object_id": "V.1", "title": "Plaque, a rider", "object_type": "plaque", "technique": ["painted"], "base_metal": "copper",
             "height_mm": 120.0, "width_mm": 95.5, "location_id": "E9-4", "owner_id": "P7", "insured_value": 125000, "currency": "EUR", "status": "in_collection"},
            {"object_id": "V.2", "title": "Box"},
        ),
        "location": frame("location", {"location_id": "E9-4", "name": "North strongroom", "within": "SITE"}, {"location_id": "SITE", "name": "Old Brewery"}),
        "person": frame("person", {"person_id": "P7", "name": "Alwine Harteck"}, {"person_id": "P8", "name": "Odo Ferrant"}),
        "setting": frame("setting", {"name": "museum", "value": "Museum of Fire"}, {"name": "hours_a_week", "value": "3"}),
        "part": frame("part", {"object_id": "V.1", "part": "whole"}, {"object_id": "V.1", "part": "frame", "part_kind": "frame", "originality": "later"}),
        "condition_check": frame(
            "condition_check",
            {"check_id": "C1", "object_id": "V.1", "checked_on": "2025-03-02", "look": "inspection", "examiner": "Odo Ferrant"},
            {"check_id": "C2", "object_id": "V.1", "checked_on": "2026-09-20", "look": "inspection", "visit": "examined", "examiner": "Odo Ferrant",
             "method": "raking light, loupe 10x", "grade": "fair", "summary_observed": "Loss at the rim; Odo Ferrant saw it in the North  Strongroom.",
             "summary_interpreted": "An old blow"},
        ),
        "coverage": frame(
            "coverage",
            {"check_id": "C2", "part": "whole", "side": "front", "seen": "seen"},
            {"check_id": "C2", "part": "whole", "side": "reverse", "seen": "not_accessible", "why": "glued into its frame"},
        ),
        "damage": frame(
            "damage",
            {"damage_id": "D1", "object_id": "V.1", "part": "whole", "side": "front", "kind": "loss", "position": "rim, lower left", "cause": "physical_force", "cause_certainty": "likely"},
            {"damage_id": "D2", "object_id": "V.1", "part": "whole", "side": "front", "kind": "lifting"},
            {"damage_id": "D3", "object_id": "V.1", "part": "whole", "side": "front", "kind": "crack", "origin": "manufacture"},
            {"damage_id": "D4", "object_id": "V.1", "part": "whole", "side": "front", "kind": "crack", "closed_on": date(2020, 1, 1)},
        ),
        "observation": frame(
            "observation",
            {"check_id": "C1", "damage_id": "D1", "activity": "unknown", "area_mm2": 10.0},
            {"check_id": "C2", "damage_id": "D1", "activity": "stable", "change": "unchanged", "compared_with": "C1", "area_mm2": 12.0, "measurement_error": 0.5, "note": "told by nobody"},
            {"check_id": "C2", "damage_id": "D2", "activity": "active", "evidence": "moves under a brush", "length_mm": 7.25},
        ),
        "repair": frame("repair", {"repair_id": "R1", "object_id": "V.1", "part": "whole", "side": "front", "function": "fills", "material": "epoxy", "certainty": "observed", "done_on": "1962"}),
        "repair_state": frame("repair_state", {"check_id": "C2", "repair_id": "R1", "stability": "ageing", "signs": ["colour_change"]}),
        "treatment": frame("treatment", {"treatment_id": "T1", "object_id": "V.1", "started_on": date(2024, 5, 2), "finished_on": date(2024, 5, 3), "steps": ["consolidate"], "hours": 77.0}),
        "material_use": frame("material_use", {"treatment_id": "T1", "part": "whole", "material": "acrylic_b72", "function": "holds", "soluble_in": "acetone", "area_mm2": 4.0}),
        "danger_to_people": frame("danger_to_people", {"object_id": "V.1", "part": "whole", "agent": "uranium", "basis": "presumed"}),
        "loan": frame("loan", {"loan_id": "L1", "direction": "out", "borrower": "House of Glass", "purpose": "Fire, an exhibition", "emergency_contact": "+00 1234"}),
        "loan_leg": frame("loan_leg", {"loan_id": "L1", "leg": 1, "venue": "Glasstown", "starts_on": date(2026, 10, 10), "ends_on": date(2027, 1, 10)}),
        "loan_object": frame("loan_object", {"loan_id": "L1", "object_id": "V.1", "part": "whole", "rh_low": 40.0, "rh_high": 50.0, "lux_most": 150.0, "crate_no": "3"}),
        "loan_state": frame(
            "loan_state",
            {"loan_id": "L1", "object_id": "V.1", "state": "interim", "stated_on": at("2026-09-01T10:00"), "place": "Glasstown", "person_ours": "Odo Ferrant", "signed_ours_on": at("2026-09-01T11:00")},
        ),
    }  # fmt: skip
