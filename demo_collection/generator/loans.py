"""Three loans: one that is over, one that is being made ready with a piece that lifts, one plaque that came in."""

from collections.abc import Iterator
from functools import cache
from typing import Any

from demo_collection.generator.care import last_looks, lifts, moving
from demo_collection.generator.checks import simulate
from demo_collection.generator.collected import checked
from demo_collection.generator.items import Item
from demo_collection.generator.museum import CONSERVATOR

Row = dict[str, Any]
OVER, AHEAD, INCOMING = "LN 2023/1", "LN 2026/2", "LN 2026/IN"
GUEST = "L2026.1"


def loans() -> Iterator[Row]:
    """Rows of record loan."""
    rows = [
        (OVER, "out", "Saltmarsh Town Hall (invented)", "Enamels of three ports, exhibition", "AG 23-7"),
        (AHEAD, "out", "Kunsthaus Brackwede-on-Sea (invented)", "Fire and glass, exhibition", "AG 26-2"),
        (INCOMING, "in", "Fenwater House (invented)", "To stand beside our Entombment fragments", "FH 112"),
    ]
    for loan_id, direction, borrower, purpose, agreement in rows:
        yield {
            "loan_id": loan_id,
            "direction": direction,
            "borrower": borrower,
            "purpose": purpose,
            "agreement_ref": agreement,
            "indemnity_ref": f"IND {agreement}",
            "emergency_contact": "duty telephone of the borrower",
        }


def legs() -> Iterator[Row]:
    """Rows of record loan_leg."""
    rows = [
        (OVER, 1, "Saltmarsh", "2023-04-03", "2023-09-29"),
        (AHEAD, 1, "Brackwede-on-Sea", "2026-11-16", "2027-02-28"),
        (AHEAD, 2, "Ferry Point", "2027-03-15", "2027-06-30"),
        (INCOMING, 1, "Vellmouth", "2026-03-02", "2027-03-31"),
    ]
    for loan_id, leg, venue, starts_on, ends_on in rows:
        yield {
            "loan_id": loan_id,
            "leg": leg,
            "venue": f"{venue} (invented)",
            "starts_on": starts_on,
            "ends_on": ends_on,
        }


@cache
def travelling() -> dict[str, list[Item]]:
    """Which objects are on which loan; the first of those made ready has lifting enamel."""
    looks = last_looks()
    here = [t for t in checked() if t.status == "in_collection" and not t.missing and not t.parts and t.number in looks]
    lifting = [t for t in here if lifts(t)]
    calm = [t for t in here if not moving(t) and t.group in ("guilloche", "cloisonne", "jewel", "champleve")]
    return {
        OVER: calm[3:5],
        AHEAD: [lifting[0], *calm[10:13]],
        INCOMING: [t for t in checked() if t.number == GUEST],
    }


def loan_objects() -> Iterator[Row]:
    """Rows of record loan_object."""
    for loan_id, items in travelling().items():
        for place, item in enumerate(items, start=1):
            lifts = bool(moving(item))
            yield {
                "loan_id": loan_id,
                "object_id": item.number,
                "part": "",
                "rh_low": 38,
                "rh_high": 50,
                "temperature_low": 16,
                "temperature_high": 24,
                "lux_most": 150,
                "uv_most": 30,
                "crate_no": f"{loan_id[-1]}-{place}",
                "packing": "double crate, tissue-free cradle, upright",
                "areas_to_watch": _watch(item),
                "permits": "treat before packing" if lifts and loan_id == AHEAD else "",
            }


def _watch(item: Item) -> str:
    words = [f"{w.kind.replace('_', ' ')}, {w.side}" for w in simulate().open_wounds(item.number)]
    return "; ".join(words[:3])


def loan_states() -> Iterator[Row]:
    """Rows of record loan_state: five of the loan that is over, two of the one that came in."""
    over = [
        ("outgoing", "2023-03-27", "Vellmouth"),
        ("incoming", "2023-03-30", "Saltmarsh"),
        ("installed", "2023-03-31", "Saltmarsh"),
        ("deinstalled", "2023-10-02", "Saltmarsh"),
        ("return", "2023-10-06", "Vellmouth"),
    ]
    came = [("outgoing", "2026-02-24", "Fenwater House"), ("incoming", "2026-03-02", "Vellmouth")]
    for loan_id, states in ((OVER, over), (INCOMING, came)):
        for item in travelling()[loan_id]:
            for state, day, place in states:
                yield {
                    "loan_id": loan_id,
                    "object_id": item.number,
                    "state": state,
                    "stated_on": f"{day}T10:30:00",
                    "place": place,
                    "check_id": "",
                    "person_ours": CONSERVATOR,
                    "signed_ours_on": f"{day}T11:00:00",
                    "person_theirs": "registrar of the other house",
                    "signed_theirs_on": f"{day}T11:05:00",
                    "packing_as_found": "as packed" if state in ("incoming", "return") else "",
                    "shock_indicator": "white",
                }
