"""The whole path on one screen: from records to risk."""

from datetime import date

import polars as pl

from collection.risk.hazards import hazards
from collection.risk.known import known
from collection.risk.looks import looks
from collection.risk.magnitude import object_risk, ranked
from collection.risk.moves import moves
from collection.risk.place import outside
from collection.risk.rates import RatesTable
from collection.risk.result import Risk
from collection.risk.targets import not_held, outside_target
from collection.snapshot import Collection
from collection.store.engines import Engine


def assess(
    collection: Collection, rates: RatesTable, engine: Engine, as_of: date, hours: pl.DataFrame | None = None
) -> Risk:
    """Risk of every object as known on `as_of`; `hours` are hourly climate readings, schema HOURS of `risk.place`."""
    seen = looks(collection, as_of)
    targets = outside_target(collection, seen, hours, as_of)
    beside = {
        "outside": outside(collection, hours, rates, as_of),
        "moves": moves(collection, as_of),
        "not_held": not_held(targets, rates.lines.dormant_outside_share),
    }
    f = {**engine.frames(collection), **engine.lift({**rates.tables(), **beside})}
    found = engine.collect(hazards(f, rates, f["outside"], as_of))
    g = engine.lift({"hazards": found, "objects": known(collection, seen, found, rates, as_of)})
    risk = engine.collect(object_risk(g["hazards"], g["objects"], rates))
    return Risk(as_of, found, ranked(risk), seen, targets)
