"""The whole path on one screen: from the store to records, to the day, to risk, to the list with its classes.

The way in is as short: `collection.intake.pipeline`.
"""

from collections.abc import Callable, Sequence
from datetime import date

import polars as pl

from collection.as_of import as_known
from collection.frames import returns
from collection.questions.air import Air
from collection.questions.triage import Triage
from collection.risk.climate import HOURS, Targets, day_before, outside
from collection.risk.handling import moves
from collection.risk.hazards import HAZARDS, hazards
from collection.risk.inspections import inspections, known, looks
from collection.risk.namespace import LazyFrames
from collection.risk.object_risk import RISK, Risk, object_risk
from collection.risk.quiet import quiet
from collection.risk.rates import RatesTable
from collection.snapshot import Collection
from collection.store import Store
from collection.store.engines import Engine, PolarsEngine

DAYS_BEFORE_A_CHECK = 365  # the climate of a check is that of the year before it


def assess_store(store: Store, day: Callable[[Collection], date], engine: Engine | None = None) -> Triage:
    """The whole collection assessed as it was known on the day that `day` gives. Raises StoreUnusable."""
    collection, hours = store.read_with_hours(lambda whole: as_known(whole, day(whole)), _climate_asked)
    rates = RatesTable.of(collection)
    return Triage.of(collection, rates, assess(collection, rates, engine or PolarsEngine(), hours))


def nothing_yet(day: date) -> Triage:
    """What is known where there is no store: no object, and what a museum may set as it comes."""
    collection = as_known(Collection.of({}), day)
    rates = RatesTable.of(collection)
    return Triage.of(collection, rates, assess(collection, rates, PolarsEngine()))


def assess_air(store: Store, day: Callable[[Collection], date]) -> Air:
    """The collection assessed as it was known on a day, and the hourly means of its places. Raises StoreUnusable."""
    return air_of(store, assess_store(store, day))


def air_of(store: Store, triage: Triage) -> Air:
    """A collection assessed with the hourly means of its places. Raises StoreUnusable."""
    return Air(triage, store.read_hours(*_climate_asked(triage.collection)))


def assess(collection: Collection, rates: RatesTable, engine: Engine, hours: pl.DataFrame | None = None) -> Risk:
    """Risk of every object of a collection cut to a day; `hours` are hourly climate readings, schema HOURS."""
    hours = pl.DataFrame(schema=HOURS) if hours is None else hours
    checks = inspections(collection)
    seen = looks(checks)
    targets = Targets(collection, hours)
    more = {
        "checks": checks,
        "outside": outside(collection, checks, hours, rates),
        "moves": moves(collection),
        "quiet": quiet(collection, checks, rates),
        "held": targets.held(seen, rates.lines.dormant_outside_share),
    }
    some = {name: frame for name, frame in more.items() if not frame.is_empty()}
    f = {**engine.frames(collection), **engine.to_lazy({**rates.tables(), **some})}
    rows = _hazards(engine, f, rates)
    g = engine.to_lazy({"hazards": rows, "objects": known(collection, checks, seen, rates)})
    risk = _object_risk(engine, g, rates)
    since = seen.select("object_id", since="last_checked_on")
    return Risk(collection.day, checks, rows, risk, seen, targets.outside(since))


@returns(HAZARDS)
def _hazards(engine: Engine, f: LazyFrames, rates: RatesTable) -> pl.DataFrame:
    return engine.collect(hazards(f, rates, f.get("outside"), engine.hold))


@returns(RISK)
def _object_risk(engine: Engine, f: LazyFrames, rates: RatesTable) -> pl.DataFrame:
    return engine.collect(object_risk(f["hazards"], f["objects"], rates))


def _climate_asked(collection: Collection) -> tuple[Sequence[str], date, date]:
    """Every place, from a year before the earliest check that may still stand, to the day."""
    first = collection["condition_check"]["checked_on_earliest"].min()
    start = first if isinstance(first, date) else collection.day
    places = collection["location"]["location_id"].to_list()
    return places, day_before(start, DAYS_BEFORE_A_CHECK), collection.day


def hours_since_first_check(store: Store, triage: Triage) -> pl.DataFrame:
    """Hourly means of every place with a logger from the first check to the day, schema HOURS. StoreUnusable."""
    first = triage.risk.checks["seen_on"].min()
    places = triage.collection["location"]["location_id"].to_list()
    return store.read_hours(places, first if isinstance(first, date) else triage.as_of, triage.as_of)
