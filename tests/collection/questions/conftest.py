"""A small assessed collection, made by hand: four objects in two rooms of a building, one never looked at."""

from collections.abc import Callable
from datetime import date
from math import log

import polars as pl
import pytest

from collection.as_of import as_known
from collection.questions.triage import Triage
from collection.risk.inspections import inspections
from collection.risk.object_risk import Risk
from collection.risk.rates import RatesTable
from collection.snapshot import Collection
from schemas.vocabularies import vocabulary

DAY = date(2026, 9, 30)
OBJECTS = pl.DataFrame(
    {
        "object_id": ["A", "B", "C", "D"],
        "title": ["Box", "Bowl", None, "Plaque"],
        "technique": [["cloisonne"], ["painted_enamel"], None, ["cloisonne", "champleve"]],
        "base_metal": ["copper", "copper", "silver", None],
        "latest_year": [1750, 1800, 1801, None],
        "location_id": ["S1", "S1", "R2", "HOUSE"],
    }
)
PLACES = pl.DataFrame(
    {
        "location_id": ["HOUSE", "R1", "R2", "U1", "S1"],
        "within": [None, "HOUSE", "HOUSE", "R1", "U1"],
        "name": ["House", "Room 1", "Room 2", "Unit", "Shelf"],
        "kind": ["building", "room", "room", "unit", "shelf"],
    }
)
# Of the collection's value a year: A 0.5 x 0.1, B 0.25 x 0.01, C 0.125 x 0.02; D, never checked, 0.125 x 0.04 expected.
RISK = pl.DataFrame(
    {
        "object_id": ["A", "B", "C", "D"],
        "location_id": OBJECTS["location_id"],
        "value_share": [0.5, 0.25, 0.125, 0.125],
        "annual_loss": [0.1, 0.01, 0.02, 0.0],
        "unchecked_loss": [0.0, 0.0, 0.0, 0.04],
        "mean_loss": [0.1, 0.01, 0.02, 0.0],
        "collection_loss": [0.05, 0.0025, 0.0025, 0.0],
        "size_assumed": [False] * 4,
        "last_checked_on": [DAY, DAY, DAY, None],
    }
)
HAZARDS = pl.DataFrame(
    {
        "object_id": ["A", "A", "B", "C"],
        "source": ["damage", "repair", "repair", "damage"],
        "term": ["lifting", "fill", "fill", "chip"],
        "state": ["active", "sound", "sound", "stable"],
        "part": ["whole"] * 4,
        "hazard_id": ["damage:1", "repair:1", "repair:2", "damage:2"],
        "rate_row": [0, 1, 1, 2],
        "part_share": [1.0] * 4,
        "mean_log_kept": [log(0.9), 0.0, log(0.99), log(0.98)],
        "quiet_factor": [1.0] * 4,
        "years_likely": [1.0] * 4,
        "modifier": [1.0] * 4,
        "loss_rate": [1.0] * 4,
        "planned_rate": [0.0] * 4,
    }
)


@pytest.fixture
def made() -> Callable[..., Triage]:
    """The collection with further records."""
    now = vocabulary("attention").terms_where("now")
    rest = [t for t in vocabulary("attention").term if t not in now]
    classes = pl.DataFrame(
        {"object_id": ["A", "B", "C", "D"], "attention": [now[1], rest[-1], now[0], rest[0]], "turn": [2] * 4}
    )

    def make(**records: pl.DataFrame) -> Triage:
        collection = as_known(Collection.of({"object": OBJECTS, "location": PLACES, **records}), DAY)
        risk = Risk(DAY, inspections(collection), HAZARDS, RISK, pl.DataFrame(), pl.DataFrame())
        return Triage(collection, risk, RatesTable.of(collection), classes)

    return make
