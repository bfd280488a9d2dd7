"""The whole path on one screen: from the store to records, from records to risk, from risk to the ranked list.

The way in is as short: `collection.intake.pipeline`.
"""

from collections.abc import Callable
from datetime import date, timedelta

import polars as pl

from collection.questions.triage import Triage
from collection.questions.triage import triage as ranked_with_classes
from collection.risk.climate import checks_counted, not_held, outside, outside_target
from collection.risk.handling import moves
from collection.risk.hazards import hazards
from collection.risk.inspections import known, looks
from collection.risk.object_risk import Risk, object_risk, ranked
from collection.risk.rates import RatesTable
from collection.snapshot import Collection
from collection.store import Store
from collection.store.engines import Engine, PolarsEngine

DAYS_BEFORE_A_LOOK = 365  # the climate of a look is that of the year before it


def assess(
    collection: Collection, rates: RatesTable, engine: Engine, as_of: date, hours: pl.DataFrame | None = None
) -> Risk:
    """Risk of every object as known on `as_of`; `hours` are hourly climate readings, schema HOURS of `risk.place`."""
    checks = checks_counted(collection, as_of)
    seen = looks(checks)
    targets = outside_target(collection, seen, hours, as_of)
    beside = {
        "checks": checks,
        "outside": outside(collection, hours, rates, as_of),
        "moves": moves(collection, as_of),
        "not_held": not_held(targets, rates.lines.dormant_outside_share),
    }
    some = {name: frame for name, frame in beside.items() if not frame.is_empty()}
    f = {**engine.frames(collection), **engine.to_lazy({**rates.tables(), **some})}
    found = engine.collect(hazards(f, rates, f.get("outside"), as_of))
    g = engine.to_lazy({"hazards": found, "objects": known(collection, seen, found, rates, as_of)})
    risk = engine.collect(object_risk(g["hazards"], g["objects"], rates))
    return Risk(as_of, found, ranked(risk), seen, targets)


def triage(store: Store, day: Callable[[Collection], date], engine: Engine | None = None) -> Triage:
    """The ranked list of the whole collection, with classes, as things stood on the day that `day` gives."""
    collection = store.read()
    as_of, rates = day(collection), RatesTable.of(collection)
    hours = store.read_hours(collection["location"]["location_id"].to_list(), *_span_of_climate(collection, as_of))
    risk = assess(collection, rates, engine or PolarsEngine(), as_of, hours)
    return ranked_with_classes(collection, rates, risk)


def _span_of_climate(collection: Collection, as_of: date) -> tuple[date, date]:
    """From a year before the earliest look that may still stand, to the day."""
    first = collection["condition_check"]["checked_on_earliest"].min()
    start = first if isinstance(first, date) else as_of
    return start - timedelta(days=DAYS_BEFORE_A_LOOK), as_of
