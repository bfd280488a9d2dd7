"""A back-test of a store: what was known on a day, the climate measured up to it, and what its checks saw since."""

from datetime import date

from collection.learning.back_test import BackTest, back_test
from collection.pipeline import DAYS_BEFORE_A_CHECK, assess
from collection.risk.climate import day_before
from collection.risk.object_risk import Risk
from collection.risk.rates import RatesTable
from collection.snapshot import Collection
from collection.store import Store
from collection.store.engines import PolarsEngine


def back_test_store(store: Store, collection: Collection, cut: date, until: date) -> BackTest:
    """Test the rates on a store's records of the years from `cut` to `until`. Raises StoreUnusable."""
    first = collection["condition_check"]["checked_on_earliest"].min()
    start = day_before(first if isinstance(first, date) else cut, DAYS_BEFORE_A_CHECK)
    places = collection["location"]["location_id"].to_list()
    hours = store.read_hours(places, min(start, cut), cut)

    def as_it_was(known: Collection, rates: RatesTable) -> Risk:
        return assess(known, rates, PolarsEngine(), hours)

    return back_test(collection, cut, until, as_it_was)
