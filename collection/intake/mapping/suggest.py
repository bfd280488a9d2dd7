"""Suggesting a mapping: which record a sheet holds, which heading means which column. A person decides."""

from collections.abc import Iterable, Mapping
from dataclasses import replace

import polars as pl

from collection.intake.files.sheet import Sheet
from collection.intake.mapping.cell_evidence import (
    date_order,
    has_decimal_comma,
    is_code,
    numbers_objects,
    sample_of,
    share_of_full_days,
)
from collection.intake.mapping.faults import WRITTEN_WITHOUT
from collection.intake.mapping.headings import known_words, listed, take_apart
from collection.intake.mapping.mapping import BROUGHT_IN, IGNORED, JOINED, OBJECT, ColumnMap
from collection.validation.conventions import is_date, is_number, unit_factors
from collection.validation.problems import needed_columns
from collection.validation.spelling import plain
from schemas.fields import FromVocabulary, Unit
from schemas.records.catalogue import WHOLE_COLUMN
from schemas.tables import RECORDS, TableSpec
from schemas.vocabularies import vocabulary

DAY_SHARE = 0.8  # of the filled cells: then a column holds full days

CHECK = RECORDS["condition_check"].name
# What stands beside a day in a list of checks: a person, a grade, a finding, an action.
NEAR_A_CHECK = {"examiner", "grade", "summary_observed", "summary_interpreted", "next_check_on"}
OF_A_CATALOGUE = {"materials_text", "dimensions_text", "classification_text", "technique", "base_metal"}
OF_MAKING = {"date_text", "earliest_year", "latest_year"}
OBJECT_ID, TITLE = "object_id", "title"
TEXT_OF = {"technique": "materials_text", "base_metal": "materials_text", "object_type": "object_type_text"}


def suggest(sheet: Sheet, record: str | None = None) -> ColumnMap | None:
    """A mapping for the record named, else for the record that fits best; None where no record's key is there, or where
    a catalogue would fit better that lacks the number of its objects: then what heads that is for a person to say.
    """
    names = [record] if record else BROUGHT_IN
    fitting = {}
    for name in names:
        columns, passed_over = _columns(sheet.headings, name)
        if name == OBJECT:
            columns |= _bare_number(sheet, columns)
        if _has_key(RECORDS[name], columns.values(), asked=record is not None):
            fitting[name] = (columns, passed_over)
    if not fitting or (record is None and OBJECT not in fitting and lacks_a_number(sheet)):
        return None
    best = max(fitting, key=lambda name: _fit(sheet, name, fitting[name][0]))
    return _mapping(sheet, best, *fitting[best])


def draft(sheet: Sheet, record: str | None = None) -> ColumnMap:
    """A mapping for a person to fill in: headings known for the record named, else every target empty."""
    if record is None:
        return ColumnMap("", dict.fromkeys(sheet.headings, IGNORED))
    return _mapping(sheet, record, *_columns(sheet.headings, record))


def catalogue_or_checks(sheet: Sheet, mapping: ColumnMap) -> tuple[ColumnMap, ...]:
    """Both readings of a sheet that may be a catalogue or a list of checks; the one mapping where there is no doubt.

    A column of full days beside a person, a grade, a finding or an action says *checks*, numbers and titles say
    *catalogue*: nobody guesses.
    """
    if mapping.record not in (OBJECT, CHECK):
        return (mapping,)
    catalogue, checks = (suggest(sheet, name) for name in (OBJECT, CHECK))
    if _exact(sheet.headings, CHECK) > _exact(sheet.headings, OBJECT):
        return (checks or mapping,)
    if catalogue is None or checks is None or not NEAR_A_CHECK & set(checks.columns.values()):
        return (mapping,)
    day = next(iter(checks.headings_of("checked_on")), None)
    if day is None or share_of_full_days(sample_of(sheet, day)) < DAY_SHARE:
        return (mapping,)
    of_remark = catalogue.columns[day] == "condition_remark_on" and not _may_be_a_day(day)
    if of_remark and OF_A_CATALOGUE & set(catalogue.columns.values()):
        return (mapping,)
    return (catalogue, checks)


def recognised(headings: Iterable[str]) -> int:
    """How many of these are headings of any record."""
    known = {words for record in known_words().values() for words in record}
    return sum(1 for h in headings if take_apart(h).words in known or plain(h[:500]) in known)


def lacks_a_number(sheet: Sheet) -> bool:
    """The headings are those of a catalogue more than of any other record; none is for the number of its objects."""
    if not _is_catalogue_without_number(_columns(sheet.headings, OBJECT)[0]):
        return False
    fits = {name: _fit(sheet, name, _columns(sheet.headings, name)[0]) for name in BROUGHT_IN}
    return fits[OBJECT] == max(fits.values())


def _is_catalogue_without_number(columns: Mapping[str, str]) -> bool:
    known = set(columns.values())
    return OBJECT_ID not in known and TITLE in known and bool(OF_A_CATALOGUE & known)


def _bare_number(sheet: Sheet, columns: Mapping[str, str]) -> dict[str, str]:
    """*Number* alone for the number of an object, where no heading says more and the cells cannot be a count of lines.

    Beside it stand a title and what only a catalogue has; every cell is filled, each with another number.
    """
    if not _is_catalogue_without_number(columns):
        return {}
    bare = [h for h in sheet.headings if plain(h) in listed()["doubtful"]["number"] and not columns[h]]
    return {heading: OBJECT_ID for heading in bare[:1] if numbers_objects(sheet.cells[heading])}


def _fit(sheet: Sheet, record: str, columns: Mapping[str, str]) -> tuple[int, int]:
    """Headings that are the record's own column names, and those that are known for it."""
    return _exact(sheet.headings, record), sum(1 for target in columns.values() if target)


def _exact(headings: Iterable[str], record: str) -> int:
    """Headings that are the record's own column names, letter by letter."""
    return len({c.name for c in RECORDS[record].columns} & set(headings))


def _columns(headings: list[str], record: str) -> tuple[dict[str, str], dict[str, str]]:
    """Heading to column, the preferred one where several mean one; and the headings that were passed over."""
    words, own = known_words()[record], {c.name for c in RECORDS[record].columns}
    wanted: list[tuple[int, int, str, str]] = []
    for place, heading in enumerate(headings):
        column, rank = words.get(plain(heading)) or words.get(take_apart(heading).words) or (IGNORED, 0)
        wanted.append((0, place, heading, heading) if heading in own else (rank, place, heading, column))
    chosen, passed_over = dict.fromkeys(headings, IGNORED), {}
    filled: set[str] = set()
    for _, _, heading, column in sorted(wanted, key=lambda w: w[:2]):
        if column and (column not in filled or column in JOINED):
            chosen[heading] = column
            filled.add(column)
        elif column:
            passed_over[heading] = column
    return chosen, passed_over


def _has_key(spec: TableSpec, columns: Iterable[str], *, asked: bool) -> bool:
    """What a row cannot do without is there; a list of checks whose record was named needs no number of its own."""
    without = WRITTEN_WITHOUT.get(spec.name, ()) if asked else ()
    number_from = {"object_id", "checked_on"} if without else set()
    return set(needed_columns(spec)) - {WHOLE_COLUMN, *without} | number_from <= set(columns)


def _mapping(sheet: Sheet, record: str, columns: Mapping[str, str], passed_over: Mapping[str, str]) -> ColumnMap:
    spec = RECORDS[record]
    return mapped(
        sheet, record, {h: _target(sheet, spec, h, t, columns.values()) for h, t in columns.items()}, passed_over
    )


def mapped(sheet: Sheet, record: str, columns: Mapping[str, str], passed_over: Mapping[str, str]) -> ColumnMap:
    """A mapping with these columns, and what the sheet itself proves of their units, orders and signs."""
    spec = RECORDS[record]
    heading_of = {t: h for h, t in columns.items() if t}
    samples = {c: sample_of(sheet, h) for c, h in heading_of.items()}
    own = [c for c in spec.columns if c.name in heading_of]
    orders = {c.name: order for c in own if is_date(c) and (order := date_order(samples[c.name]))}
    return ColumnMap(
        record,
        columns,
        units=_units(spec, heading_of),
        orders=orders,
        unknown=_unknown(samples),
        decimal_comma=tuple(c.name for c in own if is_number(c) and has_decimal_comma(samples[c.name])),
        passed_over=passed_over,
    )


def with_evidence(mapping: ColumnMap, sheet: Sheet) -> ColumnMap:
    """A remembered mapping with the decimal signs that this file proves; where it proves nothing, as remembered."""
    spec = RECORDS[mapping.record]
    commas = set(mapping.decimal_comma)
    for column in (c for c in spec.columns if is_number(c)):
        for heading in (h for h in mapping.headings_of(column.name) if h in sheet.headings):
            sample = sample_of(sheet, heading)
            if has_decimal_comma(sample):
                commas.add(column.name)
            elif sample.str.contains(r"\d\.\d{1,2}(\D|$)").any():
                commas.discard(column.name)
    return replace(mapping, decimal_comma=tuple(sorted(commas)))


def _target(sheet: Sheet, spec: TableSpec, heading: str, target: str, others: Iterable[str]) -> str:
    """The column a heading means once its cells have been looked at."""
    if not target or target in spec.key:
        return target
    cells = sample_of(sheet, heading)
    if is_code(cells):
        return IGNORED
    if spec.name != OBJECT:
        return target
    if target in OF_MAKING and _may_be_a_day(heading) and share_of_full_days(cells) >= DAY_SHARE:
        remark = "condition_remark" in others and "condition_remark_on" not in others
        return "condition_remark_on" if remark else IGNORED  # the day of a check is never a date of making
    return _as_prose(cells, spec, target)


def _may_be_a_day(heading: str) -> bool:
    return plain(heading) in listed()["doubtful"]["day"]


def _as_prose(cells: pl.Series, spec: TableSpec, target: str) -> str:
    """A column headed like a list of terms but filled with prose is prose."""
    term = spec.column(target).mark(FromVocabulary) if target in {c.name for c in spec.columns} else None
    prose = TEXT_OF.get(target)
    if term is None or prose is None:
        return target
    known = {plain(w) for k, e in vocabulary(term.vocabulary).term.items() for w in (k, e.label)}
    seen = cells.str.split(";").list.explode().unique().to_list()
    hits = sum(1 for v in seen if plain(v or "") in known)
    return target if not seen or hits * 2 >= len(seen) else prose


def _units(spec: TableSpec, heading_of: Mapping[str, str]) -> dict[str, str]:
    units = {}
    for column in spec.columns:
        heading, unit = heading_of.get(column.name), column.mark(Unit)
        if heading is not None and unit is not None and unit.symbol in unit_factors() and heading != column.name:
            units[column.name] = take_apart(heading).unit
    return units


def _unknown(samples: Mapping[str, pl.Series]) -> dict[str, tuple[str, ...]]:
    """Where a catalogue also has the date in words, a year 0 is its sign for nothing: there was no such year."""
    years = [c for c in ("earliest_year", "latest_year") if c in samples and "date_text" in samples]
    return {c: ("0",) for c in years if (samples[c].str.strip_chars() == "0").any()}
