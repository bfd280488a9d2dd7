"""What a sheet leaves open once its headings are known: the order of its days, units, what its own values stand for."""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import islice
from typing import Any

import polars as pl

from collection.intake import languages
from collection.intake.doubts import BARE
from collection.intake.files.sheet import Sheet
from collection.intake.mapping.cell_evidence import date_order, sample_of
from collection.intake.mapping.headings import take_apart
from collection.intake.mapping.mapping import ColumnMap
from collection.intake.text.remarks import GRADE, read_grades
from collection.validation.cell_values import judge_cell
from collection.validation.conventions import factor_of, full_year, is_date, parse_order, unit_factors, units_named
from schemas.fields import FromVocabulary, Unit
from schemas.tables import RECORDS, Column
from schemas.vocabularies import vocabulary

EXAMPLES = 3
MOST_VALUES = 12  # different values of a column that are asked for one by one; more are no scale
ORDERS = (("dd", "mm", "yyyy"), ("mm", "dd", "yyyy"))
SHORT_ORDERS = (("dd", "mm", "yy"), ("mm", "dd", "yy"), ("yy", "mm", "dd"))
WRITTEN_DATE = (
    r"^\s*\d{1,2}(?P<sign>[./-])\d{1,2}[./-](?P<last>\d{2}|\d{4})(?P<clock>[ T]+\d{1,2}:\d{2}(?::\d{2})?)?\s*$"
)
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
    """Where no date of the column has a part over 12, or its years have two digits, nobody can tell the parts apart."""
    if not is_date(column) or date_order(sample):
        return
    parts = sample.str.extract_groups(WRITTEN_DATE).struct.unnest().drop_nulls("last")
    if parts.is_empty():
        return
    sign, short = str(parts["sign"][0]), bool((parts["last"].str.len_chars() == 2).all())
    clock = " hh:mm" if parts["clock"].is_not_null().any() else ""
    written = [str(c).strip() for c in sample.filter(sample.str.contains(WRITTEN_DATE)).unique(maintain_order=True)]
    orders = [sign.join(order) + clock for order in (SHORT_ORDERS if short else ORDERS)]
    fitting = {order: read for order in orders if (read := _all_read(written, order))}
    if not fitting:
        return
    telling = next((n for n in range(len(written)) if len({read[n] for read in fitting.values()}) > 1), 0)
    choices = {order: f"{read[telling]} ({order})" for order, read in fitting.items()}
    words = f"Under \u2018{heading}\u2019, day, month and year cannot be told apart. What is {written[telling]}?"
    yield SheetQuestion(ORDER, column.name, "", words, choices)


def _all_read(written: Sequence[str], order: str) -> list[str]:
    """The dates in the order given, in words that leave no doubt (*3 April 2021*); none where one is no date."""
    parsed = parse_order(order)
    matches = [re.match(parsed.pattern, text) for text in written]
    try:
        days = [_day(match, short=parsed.short_year) for match in matches if match]
    except ValueError:
        return []
    return [f"{day.day} {day:%B %Y}" for day in days] if len(days) == len(written) else []


def _day(match: re.Match[str], *, short: bool) -> date:
    year = full_year(int(match["y"])) if short else int(match["y"])
    return date(year, int(match["m"]), int(match["d"]))


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
