"""Cells that are right in themselves and were not read: each is said."""

from collections.abc import Collection, Iterator

import polars as pl

from collection.intake.languages import Languages
from collection.intake.mapping.mapping import ColumnMap
from collection.intake.text.remarks import read_remarks
from collection.intake.text.unread import unread_remarks
from collection.intake.ticks import unread_ticks
from collection.validation.cells import SHOWN_OF_A_CELL
from collection.validation.problems import ROW, problems_of

BARE = r"^\s*[+-]?[\d.,'’ ]*\d[\d.,'’ ]*$"  # a number with nothing beside it
# Of a remark in a language that is not read: no damage is read from it.
UNREAD_LANGUAGE = "remark_in_another_language"
REMARKS = ("condition_remark", "summary_observed")


def cells_not_read(
    cells: pl.DataFrame,
    own: pl.DataFrame,
    rows: pl.DataFrame,
    mapping: ColumnMap,
    languages: Languages,
    not_read: Collection[str] = (),
) -> Iterator[pl.DataFrame]:
    """What was not read, each said: ticks that are none, numbers without a unit, remarks without a known word, or with
    damage that may be denied. `not_read`: columns whose language is not read."""
    yield unread_ticks(cells, mapping)
    yield from _without_unit(own, rows, mapping)
    yield from _remarks_not_read(own, languages)
    for column in (c for c in REMARKS if c in own.columns):
        yield from _remarks_in_doubt(own.select(ROW, text=column), column, languages, foreign=column in not_read)


def _remarks_not_read(own: pl.DataFrame, languages: Languages) -> Iterator[pl.DataFrame]:
    """Remarks on condition in which no word is known, each listed."""
    for column in (c for c in REMARKS if c in own.columns):
        lost = own.filter(unread_remarks(own[column], languages))
        yield problems_of(lost, "remark_not_read", column, value=pl.col(column).str.head(SHOWN_OF_A_CELL))


def _remarks_in_doubt(own: pl.DataFrame, column: str, languages: Languages, *, foreign: bool) -> Iterator[pl.DataFrame]:
    """Remarks in which damage may be denied, and those that tell of damage and not of which kind."""
    read = own.hstack(read_remarks(own["text"], languages).drop("dated"))
    shown = pl.col("text").str.head(SHOWN_OF_A_CELL)
    names_damage = pl.col("doubted") | (pl.col("kinds").list.len() > 0) | (pl.col("repair_materials").list.len() > 0)
    if foreign:
        yield problems_of(read.filter(names_damage), UNREAD_LANGUAGE, column, value=shown)
    else:
        yield problems_of(read.filter("doubted"), "remark_doubtful", column, value=shown)
        yield problems_of(read.filter("partly", names_damage), "remark_partly_read", column, value=shown)
    yield problems_of(read.filter("unsaid"), "damage_of_unsaid_kind", column, value=shown)


def _without_unit(cells: pl.DataFrame, rows: pl.DataFrame, mapping: ColumnMap) -> Iterator[pl.DataFrame]:
    """Numbers of columns whose unit nobody stated: they are left out, and each is said."""
    for column in (c for c, unit in mapping.units.items() if not unit and c in cells.columns):
        bare = cells.select(ROW, text=column).filter(rows[column].is_null()).filter(pl.col("text").str.contains(BARE))
        yield problems_of(bare, "size_not_read", column, value=pl.col("text").str.head(SHOWN_OF_A_CELL))
