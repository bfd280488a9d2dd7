"""What the store met while it wrote: rows somebody else was first with, climate readings that were there already."""

import json
from collections.abc import Mapping

import polars as pl

from collection.intake.delivery import CLIMATE, Delivery
from collection.store import Written
from collection.validation.validate import NEW, REFUSED, UNCHANGED


def outcomes_after_writing(delivery: Delivery, outcomes: pl.DataFrame, written: Written) -> pl.DataFrame:
    """Outcomes of the rows after what the store met: rows somebody else was first with, readings that were there."""
    lost = written.conflicts.select("record", key=_key_as_read("key")).unique()
    if lost.height:
        marked = outcomes.join(lost.with_columns(lost=pl.lit(value=True)), on=["record", "key"], how="left")
        outcome = pl.when(pl.col("lost").fill_null(value=False)).then(pl.lit(REFUSED)).otherwise("outcome")
        outcomes = marked.with_columns(outcome=outcome).drop("lost")
    if not any(unchanged for _, unchanged in written.readings.values()):
        return outcomes
    return _with_known_readings(delivery, outcomes, written.readings)


def _key_as_read(column: str) -> pl.Expr:
    """The number of a row in the store's JSON as people read it: `{"check_id":"C1","damage_id":"D1"}` is C1 / D1."""
    return pl.col(column).map_elements(
        lambda key: " / ".join(str(v) for v in json.loads(key).values()), return_dtype=pl.String
    )


def _with_known_readings(
    delivery: Delivery, outcomes: pl.DataFrame, readings: Mapping[str, tuple[int, int]]
) -> pl.DataFrame:
    """Climate readings that were there already are unchanged: of each file as many as the store says."""
    for number, (sheet, mapping) in enumerate(delivery.sheets):
        if mapping.record == CLIMATE:
            mine = delivery.rows_of_sheet(number) & (pl.col("outcome") == NEW)
            known = mine & (mine.cum_sum() <= readings.get(sheet.sha256, (0, 0))[1])
            outcomes = outcomes.with_columns(outcome=pl.when(known).then(pl.lit(UNCHANGED)).otherwise("outcome"))
    return outcomes
