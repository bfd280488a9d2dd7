"""The statement of a year: the register as it was known at the end of that year and of the year before."""

from dataclasses import dataclass

import polars as pl

from collection import pipeline
from collection.questions.statement import frozen, frozen_sentence, last_day, statement
from collection.questions.triage import Triage
from collection.settings import as_of_day
from collection.snapshot import Collection
from collection.store import Store


@dataclass(frozen=True)
class YearlyStatement:
    """now : the year, as far as it has gone. before : the year before it; both schema STATEMENT, as
    they were frozen, else as they are counted today. triage: at the end. frozen: a sentence on what is frozen."""

    year: int
    triage: Triage
    now: pl.DataFrame
    before: pl.DataFrame
    frozen: str = ""


def yearly_statement(store: Store, year: int) -> YearlyStatement:
    """The statement of a year that has begun. Raises StoreUnusable."""
    triage = _at_end(store, year)
    whole = store.read()
    now = _stated(whole, triage, year)
    before = frozen(whole, year - 1)
    if before.is_empty():
        earlier = _at_end(store, year - 1)
        before = statement(earlier, year - 1) if earlier.coverage()["checked"] else before
    words = [frozen_sentence(whole, stated) for stated in (year, year - 1)]
    return YearlyStatement(year, triage, now, before, " ".join(filter(None, words)))


def _stated(whole: Collection, triage: Triage, year: int) -> pl.DataFrame:
    """As it was frozen, else as it is counted today."""
    rows = frozen(whole, year)
    return statement(triage, year) if rows.is_empty() else rows


def _at_end(store: Store, year: int) -> Triage:
    """The collection at the end of a year, or today where that is earlier."""
    return pipeline.assess_store(store, lambda c: min(last_day(year), as_of_day(None, c)))
