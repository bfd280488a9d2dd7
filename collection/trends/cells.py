"""Cells of place, year, technique and kinds of damage for `stories`: what was new or began to move, over object-years.

Kinds go together by the climate they answer to (`climate` of rates.toml), so that damp in one room is not lost among
chips everywhere.
"""

import polars as pl

from collection.frames import returns
from collection.risk.rates import RatesTable
from collection.trends.damage_rates import ACTIVATION, NEW
from collection.trends.stories import COUNTED

ANSWERS_TO = "answers_to"
PLACED = {"room": pl.String, "year": pl.Int32, "technique": pl.String}
CELLS = pl.Schema({**PLACED, ANSWERS_TO: pl.String, **COUNTED})
CELL_KINDS = pl.Schema({**PLACED, ANSWERS_TO: pl.String, "kind": pl.String, "events": pl.Int64})
KEYS = tuple(PLACED)
ALIKE = ("room", "technique")  # what is kept together
c = pl.col


@returns(CELLS)
def cells(rows: pl.DataFrame, rates: RatesTable) -> pl.DataFrame:
    """Object-years of each cell with new damage and new activity in them, schema CELLS.

    rows : schema WATCHED. answers_to : the group of climate of the kinds; the same years count for each group.
    What began to move counts where the object was watched over the same span.
    """
    events = cell_kinds(rows, rates).group_by(*KEYS, ANSWERS_TO).agg(c("events").sum())
    years = rows.filter(c("count") == NEW).group_by(KEYS).agg(c("years").sum()).filter(c("years") > 0)
    every = years.join(events.select(ANSWERS_TO).unique(), how="cross")
    joined = every.join(events, on=[*KEYS, ANSWERS_TO], how="left", nulls_equal=True)
    return joined.with_columns(c("events").fill_null(0)).select(*CELLS).sort(*KEYS, ANSWERS_TO)


@returns(CELL_KINDS)
def cell_kinds(rows: pl.DataFrame, rates: RatesTable) -> pl.DataFrame:
    """Events of each cell by kind of damage, schema CELL_KINDS, most first; `rows`: schema WATCHED."""
    groups = rates.damage.select(kind="term", answers_to="climate_group").unique("kind", keep="first")
    counted = event_rows(rows).join(groups, on="kind", how="left").group_by(*KEYS, ANSWERS_TO, "kind")
    summed = counted.agg(c("events").sum()).select(*CELL_KINDS)
    return summed.sort(*KEYS, ANSWERS_TO, "events", "kind", descending=[False] * 4 + [True, False])


def event_rows(rows: pl.DataFrame) -> pl.DataFrame:
    """Rows of schema WATCHED with an event of new damage or new activity, over spans in which objects were watched."""
    spans = rows.filter(c("count") == NEW, c("years") > 0).select("object_id", "end_check_id").unique()
    happened = rows.filter(c("count").is_in([NEW, ACTIVATION]), c("events") > 0)
    return happened.join(spans, on=["object_id", "end_check_id"], how="semi")
