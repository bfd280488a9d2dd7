"""The columns of one logger read: local times with what is known of their zone, values in the register's units."""

from collections.abc import Mapping
from dataclasses import dataclass

import polars as pl

from collection.climate.clock import to_utc
from collection.intake.loggers.layout import Layout, Measured, TimeColumns
from collection.intake.loggers.questions import Question, order_letters, order_question, unit_question, zone_question
from collection.intake.loggers.sheets import COLUMNS, LOGGER, TIME
from collection.intake.loggers.times import Times, read_counts, read_times
from collection.intake.loggers.values import read_values
from collection.intake.loggers.words import unit_of, zone_minutes
from collection.intake.mapping.mapping import LoggerAnswers

EXAMPLES = 3
AT, MINUTES = "_at", "_minutes"


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
