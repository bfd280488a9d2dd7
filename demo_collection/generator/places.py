"""The places of the invented museum: buildings, rooms, units, shelves and boxes, and what is wrong with some."""

from collections.abc import Iterator
from typing import Any

from demo_collection.generator.museum import LOGGERS, UNITS

Row = dict[str, Any]
ROOMS = {
    "E1": ("ES", "East Store, room E1"),
    "E2": ("ES", "East Store, room E2"),
    "L1": ("LS", "Lower Store, room L1"),
    "L2": ("LS", "Lower Store, room L2"),
    "GA": ("MB", "Gallery, north side"),
    "GW": ("MB", "Gallery, warm side"),
}
BUILDINGS = {"ES": "East Store", "LS": "Lower Store", "MB": "Museum building"}
OTHER = [
    ("ST", "MB", "Conservation studio", "studio"),
    ("NF", "VELL", "Not found at the audit of 2025", "not_found"),
    ("LOANS", "", "At a borrower", "on_loan"),
    ("OWNERS", "", "With the owner", "with_owner"),
]
SHELVES = 4
FAULTS = [
    ("L2-3", "2026-02-11", "pipe_overhead", "moderate", "", "heating pipe with an old joint above the rack"),
    ("E2-4", "2026-03-03", "crowding", "minor", "", "badges in trays of forty"),
    ("L1-2", "2024-11-20", "dust", "minor", "2025-01-14", "brushed, felt sealed"),
    ("E1-4-2", "2026-05-19", "off_gassing_material", "moderate", "", "oak drawer, lead coupon gone white in six weeks"),
    ("GW", "2024-07-29", "light", "severe", "2024-10-02", "blinds jammed open in the hot fortnight"),
    ("GA-2", "2025-06-10", "poor_support", "minor", "2026-01-12", "glass shelf rattles when the school parties come"),
    ("L2", "2022-10-24", "dripping", "severe", "2022-12-19", "condensate from the stopped air handling"),
]


def location(
    location_id: str, within: str, name: str, kind: str, enclosure: str = "", logger: str = "", materials: str = ""
) -> Row:
    """One row of record location."""
    return {
        "location_id": location_id,
        "within": within,
        "name": name,
        "kind": kind,
        "enclosure": enclosure,
        "materials": materials,
        "sorbent_renewed_on": "2026-03-02" if enclosure == "conditioned" else "",
        "logger_id": logger,
    }


def locations() -> Iterator[Row]:
    """Rows of record location."""
    yield location("VELL", "", "Harbour Museum, Vellmouth (invented)", "site")
    yield from (location(key, "VELL", name, "building") for key, name in BUILDINGS.items())
    yield from (location(key, up, name, "room", "open", LOGGERS[key]) for key, (up, name) in ROOMS.items())
    yield from (location(key, up, name, kind) for key, up, name, kind in OTHER)
    for room, units in UNITS.items():
        for unit in range(1, units + 1):
            yield from _unit(room, f"{room}-{unit}")
    yield location("E1-1-1-B1", "E1-1-1", "Box 1, fragments and lids", "box", "closed", materials="acid-free board")


def _unit(room: str, unit: str) -> Iterator[Row]:
    case = room in ("GA", "GW")
    oak = unit == "E1-4"
    yield location(
        unit,
        room,
        f"{'Case' if case else 'Cabinet'} {unit}",
        "unit",
        "closed" if case else "open",
        materials="oak, glass" if oak else "powder-coated steel",
    )
    for shelf in range(1, SHELVES + 1):
        yield location(f"{unit}-{shelf}", unit, f"{unit} shelf {shelf}", "shelf", "open")


def place_checks() -> Iterator[Row]:
    """Rows of record place_check."""
    for location_id, seen_on, fault, severity, mended_on, note in FAULTS:
        yield {
            "location_id": location_id,
            "seen_on": seen_on,
            "examiner": "Ines Harrowgate",
            "fault": fault,
            "severity": severity,
            "mended_on": mended_on,
            "note": note,
        }


def room_of(location_id: str) -> str:
    """The room a place lies in."""
    return location_id.split("-")[0]
