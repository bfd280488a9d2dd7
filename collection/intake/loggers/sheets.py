"""What was read of a logger as a sheet under the register's own headings; what was not read as faults of its cells."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import polars as pl

from collection.intake.files.sheet import FAULTS, SOURCE_ROW, Sheet
from collection.intake.loggers.between import BROKEN
from collection.intake.loggers.words import HUMIDITY, LIGHT, TEMPERATURE, listed
from collection.intake.mapping.mapping import IGNORED, ColumnMap
from collection.validation.cells import SHOWN_OF_A_CELL
from schemas.fields import ForeignKey
from schemas.tables import RECORDS

if TYPE_CHECKING:
    from collection.intake.loggers.reading import Read

SPEC = RECORDS["climate_reading"]
LOGGER, TIME = SPEC.key
PLACE = SPEC.marked(ForeignKey)[0].name
COLUMNS = {TEMPERATURE: "temperature_c", HUMIDITY: "rh_percent", LIGHT: "lux"}
TEXT_OF_TIME = "%Y-%m-%d %H:%M:%S"
NOT_READ, NO_VALUE = "reading_not_read", "reading_without_value"


def sheet_of(read: "Read", faults: pl.DataFrame, columns: Iterable[str]) -> Sheet:
    """Readings as cells, times that were not read as they stand; cells not read are faults, rows without any value too.

    Rows whose cells of values are all blank are none.
    """
    quantities = list(columns)
    some = pl.any_horizontal(pl.col(f"_{q}_text").str.contains(r"\S").fill_null(value=False) for q in quantities)
    rows = _without_pairs(read.rows.filter(some | pl.col(BROKEN)), quantities)
    empty = rows.filter(pl.all_horizontal(pl.col(COLUMNS[q]).is_null() for q in quantities), ~pl.col(BROKEN))
    partly = rows.join(empty, on=SOURCE_ROW, how="anti", maintain_order="left")
    lost = [_faults(partly.filter(f"_{q}"), NOT_READ, COLUMNS[q], f"_{q}_text") for q in quantities]
    none = _faults(empty, NO_VALUE, None, f"_{quantities[0]}_text").with_columns(_as_typed(empty, quantities))
    time = pl.coalesce(pl.col(TIME).dt.to_string(TEXT_OF_TIME), "_text").alias(TIME)
    values = [pl.col(COLUMNS[q]).cast(pl.String) for q in quantities]
    listed_faults = pl.concat([_of_broken(rows, faults, quantities), *lost, none])
    at_change = read.at_change.select(LOGGER, TIME).drop_nulls()
    return Sheet("", "", "", rows.select(LOGGER, PLACE, time, *values, SOURCE_ROW), listed_faults, at_change=at_change)


def _faults(rows: pl.DataFrame, rule: str, column: str | None, text: str) -> pl.DataFrame:
    shown = pl.col(text).str.head(SHOWN_OF_A_CELL)
    named = rows.select(SOURCE_ROW, rule=pl.lit(rule), column=pl.lit(column, pl.String), value=shown)
    return named.with_columns(raw=pl.lit(None, pl.String)).select(FAULTS.names())


def _of_broken(rows: pl.DataFrame, faults: pl.DataFrame, quantities: Sequence[str]) -> pl.DataFrame:
    """Faults that the reader of the file set apart, each with its row as far as it was read."""
    broken = rows.filter(BROKEN)
    typed = broken.select(SOURCE_ROW).with_columns(_as_typed(broken, quantities).alias("read"))
    mine = faults.join(rows, on=SOURCE_ROW, how="semi").join(typed, on=SOURCE_ROW, how="left", maintain_order="left")
    return mine.with_columns(raw=pl.coalesce("read", "raw")).select(FAULTS.names())


def _as_typed(rows: pl.DataFrame, quantities: Sequence[str]) -> pl.Series:
    """The rows as they stand in the file but for their times, as JSON: what is set aside keeps its words."""
    utc = pl.coalesce(pl.col(TIME).dt.to_string(TEXT_OF_TIME), "_text")  # read again it is taken for UTC
    texts = [pl.col(LOGGER), utc.alias(TIME), *(pl.col(f"_{q}_text").alias(COLUMNS[q]) for q in quantities)]
    return rows.select(raw=pl.struct(texts).struct.json_encode())["raw"].cast(pl.String)


def _without_pairs(rows: pl.DataFrame, quantities: Sequence[str]) -> pl.DataFrame:
    """Values that together mean a sensor which has come off are not read."""
    if not {TEMPERATURE, HUMIDITY} <= set(quantities):
        return rows
    t, u = COLUMNS[TEMPERATURE], COLUMNS[HUMIDITY]
    pairs = listed()["codes"]["together"]
    off = pl.any_horizontal((pl.col(t) == a) & (pl.col(u) == b) for a, b in pairs).fill_null(value=False)
    marks = [(off | pl.col(f"_{q}")).alias(f"_{q}") for q in (TEMPERATURE, HUMIDITY)]
    return rows.with_columns(*(pl.when(~off).then(c).alias(c) for c in (t, u)), *marks)


def with_unused(
    sheet: Sheet, mapping: ColumnMap, body: pl.DataFrame, unused: Iterable[tuple[str, int]]
) -> tuple[Sheet, ColumnMap]:
    """The sheet and its mapping with the headings that nobody needs, so that they are named in the answer."""
    texts: Mapping[str, int] = {text: column for text, column in unused if text not in sheet.headings}
    more = body.select(SOURCE_ROW, *(pl.col(str(column)).alias(text) for text, column in texts.items()))
    cells = sheet.cells.join(more, on=SOURCE_ROW, how="left", maintain_order="left")
    return replace(sheet, cells=cells), mapping.with_columns({**mapping.columns, **dict.fromkeys(texts, IGNORED)})
