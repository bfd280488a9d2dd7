"""Cells that are right in themselves and were not read: each is said."""

from collections.abc import Iterator

import polars as pl

from collection.intake.languages import Languages
from collection.intake.mapping.mapping import ColumnMap
from collection.intake.text.unread import unread_remarks
from collection.intake.ticks import unread_ticks
from collection.validation.cells import SHOWN_OF_A_CELL
from collection.validation.problems import ROW, problems_of

BARE = r"^\s*[+-]?[\d.,'’ ]*\d[\d.,'’ ]*$"  # a number with nothing beside it
REMARKS = ("condition_remark", "summary_observed")


def cells_not_read(
    cells: pl.DataFrame, own: pl.DataFrame, rows: pl.DataFrame, mapping: ColumnMap, languages: Languages
) -> Iterator[pl.DataFrame]:
    """What was not read, each said: ticks that are none, numbers without a unit, remarks without a known word."""
    yield unread_ticks(cells, mapping)
    yield from _without_unit(own, rows, mapping)
    yield from _remarks_not_read(own, languages)


def _remarks_not_read(own: pl.DataFrame, languages: Languages) -> Iterator[pl.DataFrame]:
    """Remarks on condition in which no word is known, each listed."""
    for column in (c for c in REMARKS if c in own.columns):
        lost = own.filter(unread_remarks(own[column], languages))
        yield problems_of(lost, "remark_not_read", column, value=pl.col(column).str.head(SHOWN_OF_A_CELL))


def _without_unit(cells: pl.DataFrame, rows: pl.DataFrame, mapping: ColumnMap) -> Iterator[pl.DataFrame]:
    """Numbers of columns whose unit nobody stated: they are left out, and each is said."""
    for column in (c for c, unit in mapping.units.items() if not unit and c in cells.columns):
        bare = cells.select(ROW, text=column).filter(rows[column].is_null()).filter(pl.col("text").str.contains(BARE))
        yield problems_of(bare, "size_not_read", column, value=pl.col("text").str.head(SHOWN_OF_A_CELL))
