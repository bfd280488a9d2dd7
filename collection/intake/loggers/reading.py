"""The readings in the table of one logger: rows that are none set apart, times in UTC, values in the register's units.

What was read becomes a sheet under the register's own headings; what was not read, faults of its cells.
"""

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import polars as pl

from collection.climate.clock import to_utc
from collection.intake.files.sheet import FAULTS, SOURCE_ROW, Sheet
from collection.intake.loggers.layout import Layout, Measured, TimeColumns, line_names, named_in
from collection.intake.loggers.questions import Question, order_letters, order_question, unit_question, zone_question
from collection.intake.loggers.times import IS_DATE, IS_MOMENT, Times, is_epoch_or_serial, read_counts, read_times
from collection.intake.loggers.values import read_values
from collection.intake.loggers.words import HUMIDITY, LIGHT, TEMPERATURE, listed, unit_of, zone_minutes
from collection.intake.mapping.mapping import IGNORED, ColumnMap, LoggerAnswers
from collection.validation.cells import SHOWN_OF_A_CELL
from schemas.fields import ForeignKey
from schemas.tables import RECORDS

BLOCK, BROKEN = "_block", "_broken"
DIGIT, STRAY_QUOTE = r"\d", "stray_quote"
EXAMPLES = 3
AT, MINUTES = "_at", "_minutes"
SPEC = RECORDS["climate_reading"]
LOGGER, TIME = SPEC.key
PLACE = SPEC.marked(ForeignKey)[0].name
COLUMNS = {TEMPERATURE: "temperature_c", HUMIDITY: "rh_percent", LIGHT: "lux"}
TEXT_OF_TIME = "%Y-%m-%d %H:%M:%S"
NOT_READ, NO_VALUE = "reading_not_read", "reading_without_value"


def readings_of(cells: pl.DataFrame, faults: pl.DataFrame, its: Layout) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Rows of readings with the logger that the line above them names (`_block`), whether a row was not read as
    cells (`_broken`), and the faults of those rows.

    A line without a time and without a number under a heading of values is no reading; any other row is one, so that
    what cannot be read of it is said.
    """
    body = cells.slice(its.first)
    clocks = list(dict.fromkeys(m.clock for m in its.measured)) or [TimeColumns(moment=0)]
    timed = pl.any_horizontal(_is_time(clock) for clock in clocks)
    valued = pl.any_horizontal(pl.col(str(m.column)).str.contains(DIGIT).fill_null(value=False) for m in its.measured)
    marked = body.with_columns(_timed=timed.fill_null(value=False), _valued=valued)
    others = marked.filter(~pl.col("_timed"))
    names, lines = _between(others, faults, [n for n in cells.columns if n != SOURCE_ROW])
    first = named_in(its.head, "logger") or None
    blocks = pl.DataFrame(names, schema={SOURCE_ROW: pl.Int64, BLOCK: pl.String}, orient="row")
    rows = marked.join(blocks, on=SOURCE_ROW, how="left", maintain_order="left")
    rows = rows.with_columns(pl.col(BLOCK).forward_fill().fill_null(first) if first else pl.col(BLOCK).forward_fill())
    whole = faults.filter(pl.col("column").is_null())[SOURCE_ROW].unique()
    rows = rows.with_columns(pl.col(SOURCE_ROW).is_in(whole.implode()).alias(BROKEN))
    rows = rows.filter(~pl.col(SOURCE_ROW).is_in(lines)).drop("_timed", "_valued")
    return rows, faults.join(rows, on=SOURCE_ROW, how="semi")


def _between(others: pl.DataFrame, faults: pl.DataFrame, columns: list[str]) -> tuple[list[tuple[int, str]], list[int]]:
    """Of rows without a time, those that name a logger with its name, and those that are no reading."""
    raw = dict(faults.drop_nulls("raw").select(SOURCE_ROW, "raw").iter_rows())
    broken = set(faults.filter(pl.col("rule") == STRAY_QUOTE)[SOURCE_ROW])
    names, lines = [], []
    for row in others.iter_rows(named=True):
        at = row[SOURCE_ROW]
        name = line_names(json.loads(raw[at]) if at in raw else [row[n] or "" for n in columns])
        names += [(at, name)] if name else []
        lines += [at] if name or not (row["_valued"] or at in broken) else []
    return names, lines


def _is_time(clock: TimeColumns) -> pl.Expr:
    cell = pl.col(str(clock.first))
    if clock.numeric:
        return cell.map_elements(lambda c: bool(is_epoch_or_serial(c)), return_dtype=pl.Boolean)
    pattern = (IS_DATE if clock.date is not None else IS_MOMENT).pattern
    return cell.str.contains(pattern.replace(r"[^\W\d_]", r"\p{L}"))


@dataclass(frozen=True)
class Read:
    """`rows`: with time in UTC and its text (`_text`), each value, its text (`_QUANTITY_text`) and whether that was not
    read (`_QUANTITY`); `at_change`: rows in an hour that a change of the clock skips or repeats."""

    rows: pl.DataFrame
    at_change: pl.DataFrame
    questions: tuple[Question, ...]


def read_group(
    frame: pl.DataFrame,
    its: Layout,
    columns: Mapping[str, Measured],
    clock: TimeColumns,
    answers: LoggerAnswers,
    house_zone: str,
) -> Read:
    """Times and values of one group of columns, and what has to be asked of them."""
    times, text = _times(frame, clock, order_letters(answers.order))
    offset = 0 if times.in_utc else its.zone
    minutes = times.minutes if offset is None else times.minutes.fill_null(offset)
    read = frame.with_columns(times.local.alias(AT), minutes.alias(MINUTES), text.alias("_text"))
    questions = _questions_of_times(times, minutes, text, answers, house_zone)
    for quantity, m in columns.items():
        cells = frame[str(m.column)]
        values = read_values(cells, quantity, m.unit, unit_of(getattr(answers, quantity, ""))[1])
        if values.doubt:
            questions.append(unit_question(values.doubt, _shown(cells)))
        read = read.with_columns(
            values.numbers.alias(COLUMNS[quantity]),
            values.unread.alias(f"_{quantity}"),
            cells.alias(f"_{quantity}_text"),
        )
    rows, at_change = _in_utc(read, answers.zone)
    return Read(rows, at_change, tuple(questions))


def _shown(text: pl.Series) -> tuple[str, ...]:
    return tuple(text.drop_nulls().head(EXAMPLES).to_list())


def _questions_of_times(
    times: Times, minutes: pl.Series, text: pl.Series, answers: LoggerAnswers, house_zone: str
) -> list[Question]:
    questions = [order_question(times.orders, _shown(text))] if len(times.orders) > 1 else []
    if minutes.null_count() == minutes.len() and not answers.zone:
        questions.append(zone_question(house_zone, _shown(text)))
    return questions


def _times(frame: pl.DataFrame, clock: TimeColumns, order: str) -> tuple[Times, pl.Series]:
    """The times of one clock and their texts."""
    text = frame[str(clock.first)]
    if clock.numeric:
        return read_counts(text), text
    if clock.date is None:
        return read_times(text, order), text
    if clock.clock is None:
        return read_times(text, order, with_clock=False), text
    parts = [pl.col(str(n)).str.strip_chars() for n in (clock.date, clock.clock)]
    text = frame.select(pl.concat_str(parts, separator=" ").alias("text"))["text"]
    return read_times(text, order), text


def _in_utc(rows: pl.DataFrame, zone: str) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Rows in UTC, and those in an hour that a change of the clock skips or repeats."""
    by_offset = pl.col(AT) - pl.duration(minutes=pl.col(MINUTES))
    fixed = zone_minutes(zone) if "/" not in zone else None
    if not zone or fixed is not None or rows[MINUTES].null_count() == 0:
        local = pl.col(AT) - pl.duration(minutes=fixed) if fixed is not None else pl.lit(None, pl.Datetime("us"))
        read = rows.with_columns(pl.coalesce(by_offset, local).alias(TIME))
        return read, read.clear()
    local_times = to_utc(rows.with_columns(pl.col(AT).alias(TIME)), TIME, zone, LOGGER)
    read = local_times.with_columns(pl.coalesce(by_offset, TIME).alias(TIME))
    return read, read.filter("at_change")


def sheet_of(read: Read, faults: pl.DataFrame, columns: Iterable[str]) -> Sheet:
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
