"""Hourly climate of a collection from its store: apart from questions, which read no store."""

from datetime import date

import polars as pl

from collection.questions.triage import Triage
from collection.store import Store


def hours_since_first_check(store: Store, triage: Triage) -> pl.DataFrame:
    """Hourly means of every place with a logger from the first check to the day, schema HOURS. StoreUnusable."""
    first = triage.risk.checks["seen_on"].min()
    places = triage.collection["location"]["location_id"].to_list()
    return store.read_hours(places, first if isinstance(first, date) else triage.as_of, triage.as_of)
