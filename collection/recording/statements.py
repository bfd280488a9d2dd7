"""The statement of a year: the register as it was known at the end of that year and of the year before, and frozen.

What was stated is written once and never changed, so that next year has something to stand beside.
"""

from dataclasses import dataclass
from datetime import date

import polars as pl

from collection import pipeline
from collection.questions.statement import frozen, frozen_sentence, last_day, statement
from collection.questions.triage import Triage
from collection.questions.words import day_in_words
from collection.settings import as_of_day
from collection.snapshot import Collection
from collection.store import Change, Store
from schemas.errors import RegisterError
from schemas.tables import RECORDS

STATEMENT = "statement"


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


def freeze(store: Store, its: YearlyStatement, *, by: str, today: date) -> str:
    """Write the statement of a year that is over; returns what came of it in a sentence."""
    if not by.strip():
        return "First give your name."
    if today <= last_day(its.year):
        return f"The year {its.year} is not over before {day_in_words(last_day(its.year))}: nothing was frozen."
    if words := frozen_sentence(store.read(), its.year):
        return f"{words} Nothing was written."
    try:
        store.write(Change({STATEMENT: _rows(its.now, by.strip(), today)}), by=by.strip())
    except RegisterError as error:
        return f"Nothing was written. {error}"
    return f"The figures of {its.year} are frozen: {its.now.height} measures."


def _rows(now: pl.DataFrame, by: str, today: date) -> pl.DataFrame:
    """As the record has it."""
    named = now.rename({"n": "rests_on"})
    names = [name for name in RECORDS[STATEMENT].schema() if name in named.columns]
    return named.select(names).with_columns(frozen_on=pl.lit(today), frozen_by=pl.lit(by))
