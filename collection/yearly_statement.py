"""The statement of a year: the register as it was known at the end of that year and of the year before."""

from dataclasses import dataclass

import polars as pl

from collection import pipeline
from collection.questions.statement import STATEMENT, last_day, statement
from collection.questions.triage import Triage
from collection.settings import as_of_day
from collection.store import Store


@dataclass(frozen=True)
class YearlyStatement:
    """now : the year, as far as it has gone. before : the year before it; both schema STATEMENT. triage: at the end."""

    year: int
    triage: Triage
    now: pl.DataFrame
    before: pl.DataFrame


def yearly_statement(store: Store, year: int) -> YearlyStatement:
    """The statement of a year that has begun. Raises StoreUnusable."""
    triage = _at_end(store, year)
    earlier = _at_end(store, year - 1)
    known = earlier.coverage()["checked"] > 0
    before = statement(earlier, year - 1) if known else pl.DataFrame(schema=STATEMENT)
    return YearlyStatement(year, triage, statement(triage, year), before)


def _at_end(store: Store, year: int) -> Triage:
    """The collection at the end of a year, or today where that is earlier."""
    return pipeline.assess_store(store, lambda c: min(last_day(year), as_of_day(None, c)))
