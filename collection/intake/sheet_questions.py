"""What a sheet leaves open once its headings are known: the order of its days, units, what its own values stand for."""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from itertools import islice
from typing import Any

import polars as pl

from collection.intake import languages
from collection.intake.files.sheet import Sheet
from collection.intake.mapping.headings import take_apart
from collection.intake.mapping.mapping import ColumnMap
from collection.intake.mapping.suggest import LAST_MONTH, NUMERIC_DATE, date_order, sample_of
from collection.intake.text.grades import GRADE, read_grades
from collection.intake.unread_cells import BARE
from collection.validation.cell_values import judge_cell
from collection.validation.conventions import factor_of, is_date, parse_order, unit_factors, units_named
from schemas.fields import FromVocabulary, Unit
from schemas.tables import RECORDS, Column
from schemas.vocabularies import vocabulary

EXAMPLES = 3
MOST_VALUES = 12  # different values of a column that are asked for one by one; more are no scale
ORDERS = (("dd", "mm"), ("mm", "dd"))
ORDER, UNIT, VALUE = "orders", "units", "words"  # what of a mapping answers the question


@dataclass(frozen=True)
class SheetQuestion:
    """`part`: of the mapping, in which the answer stands under `column` (and, of a value, under what is `written`);
    `words`: what a person is asked; `choices`: answer to its words."""

    part: str
    column: str
    written: str
    words: str
    choices: Mapping[str, str]

    def answer(self, mapping: ColumnMap) -> str:
        """What the mapping says; empty where the question is open."""
        entry = getattr(mapping, self.part).get(self.column, "")
        return str(entry.get(self.written, "") if isinstance(entry, Mapping) else entry)

    def answered(self, mapping: ColumnMap, value: str) -> ColumnMap:
        """The mapping with this answer; an empty one opens the question again."""
        section: dict[str, Any] = {**getattr(mapping, self.part)}
        if self.part == VALUE:
            entries = {**section.pop(self.column, {}), self.written: value}
            entries = {written: term for written, term in entries.items() if term}
            section |= {self.column: entries} if entries else {}
        elif value or self.part == UNIT:
            section[self.column] = value
        else:
            section.pop(self.column, None)
        changed: dict[str, Any] = {self.part: section}
        return replace(mapping, **changed)


def questions_of(sheet: Sheet, mapping: ColumnMap) -> list[SheetQuestion]:
    """What the sheet leaves open with this mapping, in the order of its headings; answered ones stand too."""
    columns = {c.name: c for c in RECORDS[mapping.record].columns}
    asked = []
    for heading, target in mapping.columns.items():
        if heading in sheet.headings and (column := columns.get(target)) is not None:
            sample = sample_of(sheet, heading)
            for ask in (_order, _unit, _values):
                asked += list(ask(heading, column, sample, mapping))
    return asked


def _order(heading: str, column: Column, sample: pl.Series, _: ColumnMap) -> Iterator[SheetQuestion]:
    """Where no date of the column has a part over 12, day and month cannot be told apart."""
    if not is_date(column) or date_order(sample):
        return
    parts = sample.str.extract_groups(NUMERIC_DATE).struct.unnest().drop_nulls()
    months = pl.max_horizontal(pl.col("1").cast(pl.Int64), pl.col("3").cast(pl.Int64)) <= LAST_MONTH
    doubtful = parts.filter(months, pl.col("1") != pl.col("3"))
    if doubtful.is_empty():
        return
    first, sign, second = doubtful.select("1", "2", "3").row(0)
    written = next(str(c).strip() for c in sample if str(c).replace(" ", "").startswith(f"{first}{sign}{second}"))
    choices = {order: f"{_in_words(written, order)} ({order})" for order in (sign.join((*o, "yyyy")) for o in ORDERS)}
    words = f"Under \u2018{heading}\u2019, day and month cannot be told apart. What is {written}?"
    yield SheetQuestion(ORDER, column.name, "", words, choices)


def _in_words(written: str, order: str) -> str:
    """A date in the order given, in words that leave no doubt: *3 April 2021*."""
    match = re.match(parse_order(order).pattern, written.replace(" ", ""))
    day = date(*(int(match[part]) for part in "ymd")) if match else date.min
    return f"{day.day} {day:%B %Y}"


def _unit(heading: str, column: Column, sample: pl.Series, _: ColumnMap) -> Iterator[SheetQuestion]:
    """A unit that neither heading nor cells state."""
    unit = column.mark(Unit)
    if unit is None or unit.symbol not in unit_factors() or heading == column.name or take_apart(heading).unit:
        return
    bare = sample.filter(sample.str.contains(BARE))
    if bare.is_empty():
        return
    choices = {one: one for one in units_named(unit.symbol).split(", ") if factor_of(one, unit.symbol)}
    shown = ", ".join(_different(bare))
    words = f"\u2018{heading}\u2019 holds numbers without a unit ({shown}). Which unit is meant?"
    yield SheetQuestion(UNIT, column.name, "", words, choices)


def _values(heading: str, column: Column, sample: pl.Series, mapping: ColumnMap) -> Iterator[SheetQuestion]:
    """Values of a column of terms that are none: few enough to be a scale of the house."""
    mark = column.mark(FromVocabulary)
    if mark is None or column.several:
        return
    unknown = {word.lower() for word in mapping.unknown.get(column.name, ())}
    values = [
        v for v in sample.str.strip_chars().unique(maintain_order=True).to_list() if v and v.lower() not in unknown
    ]
    named = mapping.words.get(column.name, {})
    lost = list(islice((v for v in values if v in named or not _is_read(mapping, column, v)), MOST_VALUES + 1))
    if len(lost) <= MOST_VALUES:
        for value in lost:
            words = f"Under \u2018{heading}\u2019 stands \u2018{value}\u2019. What does it stand for?"
            yield SheetQuestion(VALUE, column.name, value, words, vocabulary(mark.vocabulary).labels())


def _is_read(mapping: ColumnMap, column: Column, value: str) -> bool:
    if not judge_cell(RECORDS[mapping.record], column, value).rule:
        return True
    return column.name == GRADE and read_grades(pl.Series([value]), languages.load())[0] is not None


def _different(cells: pl.Series) -> list[str]:
    return [str(c) for c in cells.str.strip_chars().unique(maintain_order=True).head(EXAMPLES).to_list()]
