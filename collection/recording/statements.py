"""Freezing what was stated of a year: written once, never changed, so that next year has something to stand beside."""

from datetime import date

import polars as pl

from collection.questions.statement import frozen_sentence, last_day
from collection.questions.words import day_in_words
from collection.store import Change, Store
from collection.yearly_statement import YearlyStatement
from schemas.errors import RegisterError
from schemas.tables import RECORDS

STATEMENT = "statement"


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
