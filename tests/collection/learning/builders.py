"""Small histories for tests: a collection of one object with a damage, evidence and intervals from plain numbers."""

from collections.abc import Sequence
from datetime import date
from typing import Any

import numpy as np
import polars as pl

from collection.as_of import as_known
from collection.learning.histories import INTERVALS, histories
from collection.learning.learned import starting
from collection.learning.parameters import learning
from collection.learning.posterior import Evidence
from collection.risk.inspections import inspections
from collection.snapshot import Collection
from tests.collection.risk.builders import check, register

DAY = date(2030, 1, 1)
ALIKE = learning().model_copy(update={"no_spread_chance": 1.0})  # every object of a cell has the same rate


def evidence(*objects: tuple[float, int, Sequence[float]]) -> Evidence:
    """Each object: years quiet, in how many intervals, years of each interval with an event."""
    most = learning().most_events
    events = np.array([[*its, *[0.0] * (most - len(its))] for _, _, its in objects])
    quiet, intervals = (np.array([row[n] for row in objects], dtype=float) for n in (0, 1))
    return Evidence(quiet, intervals, events, np.array([len(its) for _, _, its in objects]))


def intervals(*rows: dict[str, Any]) -> pl.DataFrame:
    """Rows of INTERVALS: a quiet year of active lifting where nothing else is said."""
    plain = {
        "hazard_id": "damage:D", "object_id": "O", "part": "whole", "source": "damage", "cell": "damage/lifting/active",
        "state": "active", "check_id": "C1", "end_check_id": "C2", "rate_row": 0, "starts_on": date(2020, 1, 1),
        "ends_on": date(2021, 1, 1), "exposure_years": 1.0, "loss_event": False, "activation_event": None, "handled": False,
    }  # fmt: skip
    return pl.DataFrame([plain | row for row in rows], schema=INTERVALS)


def one_damage(*lines: dict[str, Any], kind: str = "lifting", **records: Any) -> Collection:
    """An object with damage D and a check a line: `on` is its day, other columns are of the check or of the line."""
    of_check = {"look", "occasion", "definitions_version", "visit"}
    checks, observed = [], []
    for number, line in enumerate(lines, start=1):
        more = {k: v for k, v in line.items() if k in of_check}
        checks.append(check(f"C{number}", "O", line["on"], **more))
        its = {k: v for k, v in line.items() if k not in {"on", *of_check}}
        observed += [] if its.pop("no_line", False) else [{"check_id": f"C{number}", "damage_id": "D", **its}]
    damage = {"damage_id": "D", "object_id": "O", "part": "whole", "kind": kind, **records.pop("of_damage", {})}
    records.setdefault("object", [{"object_id": "O"}])
    return register(condition_check=checks, observation=observed, damage=[damage], **records)


def one_repair(*lines: dict[str, Any], **records: Any) -> Collection:
    """An object with a wax join R and a check a line."""
    checks = [check(f"C{n}", "O", line["on"]) for n, line in enumerate(lines, start=1)]
    states = [
        {"check_id": f"C{n}", "repair_id": "R", **{k: v for k, v in line.items() if k != "on"}}
        for n, line in enumerate(lines, start=1)
    ]
    repair = {"repair_id": "R", "object_id": "O", "part": "whole", "function": "holds", "material": "wax"}
    return register(
        object=[{"object_id": "O"}], condition_check=checks, repair=[repair], repair_state=states, **records
    )


def history(collection: Collection, day: date = DAY, **more: Any) -> pl.DataFrame:
    """Its intervals as known on the day."""
    known = as_known(collection, day)
    return histories(known, inspections(known), starting(known), **more)


def years(frame: pl.DataFrame) -> list[tuple[int, int]]:
    """First and last year of each interval."""
    return [(a.year, b.year) for a, b in frame.select("starts_on", "ends_on").rows()]
