"""What goes with objects: parts, groups, fragments, judgements of worth, documents, moves."""

from collections.abc import Iterator
from typing import Any

from demo_collection.generator.checks import simulate
from demo_collection.generator.collected import checked, items
from demo_collection.generator.museum import CONSERVATOR, KEEPER

Row = dict[str, Any]
GROUPS = [
    ("pair of cranes", "pair", "1938.204", "left", 0.3),
    ("pair of cranes", "pair", "1951.222", "right", 0.3),
    ("gold suite", "suite", "1964.131", "necklace", 0.25),
    ("gold suite", "suite", "1964.132", "brooch", 0.1),
    ("gold suite", "suite", "1971.105", "earrings", 0.15),
    ("bag of eleven", "lot", "1933.160.1-11", "bag", 0.0),
]


def parts() -> Iterator[Row]:
    """Rows of record part: 30 objects; what nobody judged is empty."""
    for item in (t for t in items() if t.parts):
        for name, kind, share, metal, place in item.parts:
            yield {
                "object_id": item.number,
                "part": name,
                "part_kind": kind,
                "base_metal": metal,
                "removable": "yes" if kind in ("metal_mount", "frame", "clockwork") or place else "no",
                "originality": "later" if kind == "frame" else "original",
                "value_share": _share(item.number, name, share),
                "location_id": place,
            }


def _share(number: str, name: str, share: float | None) -> float | str:
    """What was judged; the ends of one casket were judged twice, so that its shares do not sum to 1."""
    first = next(t.number for t in items() if t.sort == "champleve" and t.parts and t.parts[0][2] is not None)
    return "" if share is None else 0.25 if (number, name) == (first, "ends") else share


def groups() -> Iterator[Row]:
    """Rows of record object_group."""
    for group_id, kind, object_id, role, share in GROUPS:
        yield {
            "group_id": group_id,
            "kind": kind,
            "object_id": object_id,
            "part": "",
            "role": role,
            "completeness_share": share,
            "move_together": "yes" if kind == "suite" else "no",
        }


def fragments() -> Iterator[Row]:
    """Rows of record fragment: the bag of eleven, pieces kept of known losses, one that lies loose."""
    for place in range(1, 12):
        yield _fragment(place, "1933.160.1-11", "", f"1933.160.1-11 / {place}", "kept", 18 + 7 * place)
    lost = [w for t in checked() for w in simulate().open_wounds(t.number) if w.kind == "loss" and not w.item.missing][
        2:9
    ]
    for place, wound in enumerate(lost, start=12):
        status = "in_place_loose" if place == 13 else "lost" if place == 16 else "kept"
        yield _fragment(
            place,
            wound.item.number,
            wound.number,
            f"{wound.item.number}, {wound.side}",
            status,
            round(wound.size / 2, 1),
        )


def _fragment(place: int, object_id: str, damage_id: str, label: str, status: str, area: float) -> Row:
    return {
        "fragment_id": f"F{place:03d}",
        "object_id": object_id,
        "from_damage_id": damage_id,
        "bag_label": label,
        "location_id": "" if status == "in_place_loose" else "E1-1-1-B1",
        "area_mm2": area,
        "position": "",
        "status": status,
    }


def significance() -> Iterator[Row]:
    """Rows of record significance: the pieces of most worth, judged by two people on two days."""
    for place, item in enumerate([t for t in items() if t.points and t.points >= 100]):
        for who, day in ((KEEPER, "2025-02-11"), (CONSERVATOR, "2025-02-18")):
            if place % 3 == 0 or who == KEEPER:
                yield {
                    "object_id": item.number,
                    "value_points": 100 if who == KEEPER else 30,
                    "judged_by": who,
                    "judged_on": day,
                    "reason": "rare, shown often, asked for by others",
                }


def evidence() -> Iterator[Row]:
    """Rows of record evidence: reports that lie in the treatment files."""
    for place, row in enumerate(simulate().rows["treatment"][::2], start=1):
        kind = ("report", "analysis", "radiograph")[place % 3]
        yield {
            "evidence_id": f"EV{place:03d}",
            "object_id": row["object_id"],
            "kind": kind,
            "dated": str(row["finished_on"])[:7],
            "made_by": row["done_by"],
            "what_it_shows": "treatment file" if kind == "report" else "made before the work began",
        }
