"""One line of a check: what an examiner wrote of one damage or one repair."""

import random
from typing import Any

from demo_collection.generator.grades import severity
from demo_collection.generator.histories import SimulatedDamage
from demo_collection.generator.repairs import SIGNS, SimulatedRepair

Row = dict[str, Any]
ERROR, CERTAIN = 0.03, 3.4  # standard error of one measurement; growth beyond so many errors is written down
ONLY_A_BAND = 0.12  # of the rest nobody takes the figure
NOT_ASSESSED = 0.04  # quiet places that nobody tried
BANDS = [
    (0.1, "under_0_1"),
    (1, "from_0_1_to_1"),
    (5, "from_1_to_5"),
    (25, "from_5_to_25"),
    (50, "from_25_to_50"),
    (101, "over_50"),
]
EVIDENCE = {
    "active": [
        "fresh fragments below it",
        "measured against the last figure",
        "damp film returned after a week",
        "bright new edge",
    ],
    "suspected": ["soft edge, only this one sighting", "slight movement under air from a puffer"],
}


def line(wound: SimulatedDamage, check_id: str, chance: random.Random) -> Row:
    """Row of record observation."""
    if wound.last and chance.random() < 0.015:
        return {"check_id": check_id, "damage_id": wound.number, "change": "not_examined"}
    row = {"check_id": check_id, "damage_id": wound.number, "severity": severity(wound), "stage": wound.stage or ""}
    row |= _measured(wound, chance)
    activity = _activity(wound, chance)
    row |= {"activity": activity, "evidence": chance.choice(EVIDENCE[activity]) if activity in EVIDENCE else ""}
    row |= _change(wound, row)
    wound.last, wound.losses = row, 0
    return row


def _measured(wound: SimulatedDamage, chance: random.Random) -> Row:
    how = wound.its["measure"]
    if how == "band" or wound.last.get("extent_band") or (not wound.last and chance.random() < ONLY_A_BAND):
        return {"extent_band": next(band for limit, band in BANDS if 100 * wound.share < limit)}
    column = "length_mm" if how == "length" else "area_mm2"
    value = round(wound.size * (1 + ERROR * max(-2.5, min(2.5, chance.gauss(0, 1)))), 1)
    return {column: max(value, 0.5), "measurement_error": round(max(ERROR * wound.size, 0.1), 2)}


def _activity(wound: SimulatedDamage, chance: random.Random) -> str:
    its = wound.its
    if wound.flaw:
        return str(its["calm"])
    if wound.active:
        seen_moving = wound.losses > 0 or chance.random() < (0.72 if wound.last else 0.45)
        return "active" if seen_moving else "suspected"
    if chance.random() < NOT_ASSESSED:
        return "unknown"
    return str(its["then" if wound.last else "calm"])


def _change(wound: SimulatedDamage, row: Row) -> Row:
    """Compared with the last line: grown beyond the error of the two, or not."""
    before = wound.last
    if not before:
        return {"change": "not_comparable"}
    column = next((c for c in ("length_mm", "area_mm2") if row.get(c) and before.get(c)), None)
    grown = column is not None and row[column] - before[column] > CERTAIN * row["measurement_error"]
    return {"change": "grown" if grown else "unchanged", "compared_with": before["check_id"]}


def state(mend: SimulatedRepair, check_id: str) -> Row:
    """Row of record repair_state."""
    signs = SIGNS[mend.state] + (["hides_original"] if mend.coating else [])
    return {
        "check_id": check_id,
        "repair_id": mend.number,
        "stability": mend.state,
        "signs": ";".join(signs),
        "area_mm2": mend.area_mm2,
        "note": "damp and salts seen under the film with the microscope" if mend.state == "harmful" else "",
    }


def damage_row(wound: SimulatedDamage) -> Row:
    """Row of record damage."""
    return {
        "damage_id": wound.number,
        "object_id": wound.item.number,
        "part": wound.part,
        "side": wound.side,
        "kind": wound.kind,
        "origin": "manufacture" if wound.flaw else "in_use",
        "onset": "before_register" if wound.old else "since_last_look",
        "cause": wound.cause,
        "cause_certainty": "likely" if wound.cause else "",
        "visibility": {"base": "hidden", "reverse": "hidden", "interior": "hidden", "front": "face", "top": "face"}.get(
            wound.side, "side"
        ),
        "first_seen_on": wound.first_seen,
        "closed_on": wound.closed_on or "",
        "closed_by": wound.closed_by,
    }
