"""Two rooms with their air, one too damp for what lies there, one right; a third that nobody measures."""

from datetime import date, datetime, timedelta

import polars as pl

from collection.questions.air import Air
from collection.risk.climate import HOURS
from tests.collection.risk.builders import check, register, triaged

FIRST = datetime(2026, 9, 2)  # sixty days before the day of the register
LOCATIONS = [
    {"location_id": "H", "name": "House", "kind": "building"},
    {"location_id": "R1", "name": "Room 1", "within": "H", "kind": "room", "logger_id": "L1"},
    {"location_id": "S1", "name": "Shelf 1", "within": "R1", "kind": "shelf", "sorbent_renewed_on": date(2026, 1, 31), "sorbent_lasts_months": 6.0},
    {"location_id": "R2", "name": "Room 2", "within": "H", "kind": "room", "filter_renewed_on": date(2026, 8, 1), "filter_lasts_months": 12.0},
    {"location_id": "R3", "name": "Room 3", "within": "H", "kind": "room", "sorbent_renewed_on": date(2020, 1, 1)},
]  # fmt: skip
TARGETS = [
    {"target_id": "TA", "object_id": "A", "rh_low": 40.0, "rh_high": 50.0, "reason": "weeping glass", "set_by": "Ada"},
    {"target_id": "TR", "location_id": "R1", "rh_low": 55.0, "rh_high": 65.0, "reason": "ivory beside them", "set_by": "Ben"},
    {"target_id": "TN", "location_id": "R2", "rh_high": 30.0},
    {"target_id": "T3", "location_id": "R3", "rh_high": 50.0, "reason": "steel"},
]  # fmt: skip


def steady(place: str, rh: float, days: int = 60, warm: float = 18.0, first: datetime = FIRST) -> pl.DataFrame:
    times = [first + timedelta(hours=n) for n in range(24 * days)]
    frame = pl.DataFrame({"location_id": place, "hour": times, "temperature_c": warm, "rh_percent": rh})
    return frame.select(pl.col(n).cast(t) if n in frame.columns else pl.lit(None, t).alias(n) for n, t in HOURS.items())


def air(*hours: pl.DataFrame, **more: list[dict[str, object]]) -> Air:
    measured = pl.concat([steady("R1", 60.0), steady("R2", 45.0), *hours]) if not hours else pl.concat(hours)
    known = register(
        location=LOCATIONS,
        target=TARGETS,
        object=[{"object_id": o, "title": f"Box {o}", "location_id": at, "value_points": 1.0} for o, at in (("A", "S1"), ("B", "R1"), ("C", "R2"), ("D", "R3"))],
        part=[{"object_id": o, "part": "whole"} for o in "ABCD"],
        condition_check=[check("k", "A", "2026-09-01"), check("m", "B", "2026-09-01"), check("n", "C", "2026-09-01")],
        damage=[{"damage_id": f"D{o}", "object_id": o, "part": "whole", "kind": "weeping"} for o in "AC"],
        observation=[{"check_id": c, "damage_id": d, "activity": "active", "extent_band": "5_25"} for c, d in (("k", "DA"), ("n", "DC"))],
        **more,
    )  # fmt: skip
    return Air(triaged(known, hours=measured), measured)
