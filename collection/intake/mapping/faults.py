"""What is wrong with a mapping that can be read, and on which line of its text that stands."""

import codecs
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

import tomli

from collection.intake.loggers.questions import faults_of_answers
from collection.intake.mapping.mapping import IGNORED, JOINED, KEEP, TICKED, ColumnMap, damage_of_tick, targets
from collection.validation.cell_values import judge_cell
from collection.validation.conventions import EXPECTED_ORDER, factor_of, is_date, parse_order, unit_factors, units_named
from collection.validation.problems import needed_columns, rules
from schemas.fields import Unit
from schemas.records.catalogue import WHOLE_COLUMN
from schemas.tables import RECORDS, Column

WRITTEN_WITHOUT = {"condition_check": ("check_id", "look")}  # made from object and day where a list has none
LONGEST_ENTRY = 200  # lines of one entry that are put together; a longer one is named by its table
Entry = tuple[str, ...]  # names of the tables and the key: ("units", "height_mm")


@dataclass(frozen=True)
class Fault:
    """What is wrong, what was expected, and the entries of the mapping in which it may stand."""

    what: str
    expected: str
    entries: tuple[Entry, ...] = ()


def faults_of(mapping: ColumnMap) -> Iterator[Fault]:
    """What is wrong with a mapping, each with the entry it stands in."""
    if mapping.logger is not None:
        yield from (Fault(what, expected, (("logger",),)) for what, expected in faults_of_answers(mapping.logger))
        return
    yield from _unknown_columns(mapping)
    yield from _several_headings(mapping)
    yield from _needed(mapping)
    columns = {c.name: c for c in RECORDS[mapping.record].columns}
    for name, unit in mapping.units.items():
        yield from _unit_fault(name, unit, columns.get(name), _places(mapping, "units", name))
    for name, order in mapping.orders.items():
        places = (*_places(mapping, "order", name), *_places(mapping, "units", name))
        yield from _order_fault(name, order, columns.get(name), places)
    yield from _wrong_values(mapping)
    yield from _wrong_ticks(mapping)
    if mapping.encoding and not _is_encoding(mapping.encoding):
        what = f"'{mapping.encoding}' is no encoding that is known"
        yield Fault(what, "a name such as utf-8, cp1250 or koi8-r", (("encoding",),))


def _places(mapping: ColumnMap, section: str, column: str) -> tuple[Entry, ...]:
    """Where an entry for a column may stand: under its own name, or under the heading mapped to it."""
    return tuple((section, name) for name in (column, *mapping.headings_of(column)))


def _unknown_columns(mapping: ColumnMap) -> Iterator[Fault]:
    known = targets(mapping.record)
    expected = f"one of {', '.join(known)}, or nothing"
    named: dict[str, Entry] = {t: ("columns", h) for h, t in mapping.columns.items()}
    sections = {"units": mapping.units, "order": mapping.orders, "unknown": mapping.unknown, "words": mapping.words}
    for section, its in {**sections, "same": mapping.same}.items():
        named |= {c: (section, c) for c in its if c not in named}
    named |= {c: ("decimal_comma",) for c in mapping.decimal_comma if c not in named}
    for section, its in {**sections, "same": mapping.same}.items():
        if KEEP in its:
            yield Fault(f"{section}: what is kept stays as it is written", "a column of its own", ((section, KEEP),))
    for column in sorted(c for c in named if c and c not in known):
        yield Fault(f"'{column}' is not a column of {mapping.record}", expected, (named[column],))


def _several_headings(mapping: ColumnMap) -> Iterator[Fault]:
    headings = {t: mapping.headings_of(t) for t in sorted({*mapping.columns.values()} - {IGNORED, *JOINED})}
    for column, its in headings.items():
        if len(its) > 1:
            what = f"several headings are mapped to '{column}'"
            yield Fault(what, "one heading for a column", (("columns", its[-1]),))
    for column in mapping.same:
        if mapping.headings_of(column):
            what = f"same: '{column}' has a heading of its own, '{mapping.headings_of(column)[0]}'"
            yield Fault(what, "a column that the file does not have", (("same", column),))
    if set(RECORDS[mapping.record].key) <= set(mapping.same):
        what = f"same: all rows would be one {mapping.record}"
        yield Fault(what, "a heading for the number", (("same", RECORDS[mapping.record].key[0]),))


def _needed(mapping: ColumnMap) -> Iterator[Fault]:
    for column in needed_columns(RECORDS[mapping.record]):
        if column not in (*mapping.filled(), *WRITTEN_WITHOUT.get(mapping.record, ()), WHOLE_COLUMN):
            what = f"no heading is mapped to '{column}', which a row cannot do without"
            yield Fault(what, "a heading for it, or one value under [same]", (("columns",),))


def _unit_fault(name: str, unit: str, column: Column | None, places: tuple[Entry, ...]) -> Iterator[Fault]:
    mark = column.mark(Unit) if column else None
    if mark is None or mark.symbol not in unit_factors():
        expected = "a column with a size, a weight or another measure"
        yield Fault(f"units: '{name}' has no unit that could be stated", expected, places)
    elif unit and factor_of(unit, mark.symbol) is None:
        expected = f"one of {units_named(mark.symbol)}"
        yield Fault(f"units: '{unit}' is no unit of {name}", expected, places)


def _order_fault(name: str, order: str, column: Column | None, places: tuple[Entry, ...]) -> Iterator[Fault]:
    if column is None or not is_date(column):
        yield Fault(f"order: '{name}' holds no dates", "a column with dates", places)
        return
    if not order:
        return
    try:
        parse_order(order)
    except ValueError as error:
        yield Fault(f"order: {error}", EXPECTED_ORDER, places)


def _wrong_values(mapping: ColumnMap) -> Iterator[Fault]:
    """Values of a value list, and values for every row, that their column cannot have."""
    for column, value in mapping.same.items():
        if expected := _not_a_value(mapping.record, column, value):
            yield Fault(f"same: '{value}' is no value of {column}", expected, (("same", column),))
    for column, values in mapping.words.items():
        places = _places(mapping, "words", column)
        for written, value in values.items():
            if expected := _not_a_value(mapping.record, column, value):
                what = f"words.{column}: '{value}' (for '{written}') is no value of {column}"
                yield Fault(what, expected, tuple((*place, written) for place in places))


def _not_a_value(record: str, name: str, value: str) -> str:
    """What was expected where a column cannot have the value; empty where it can, or where any text is read."""
    if not value.strip():
        return "a value; what means nothing stands under [unknown]"
    column = next((c for c in RECORDS[record].columns if c.name == name), None)
    if column is None:
        return ""
    verdict = judge_cell(RECORDS[record], column, value)
    return (verdict.expected or rules()[verdict.rule].expected) if verdict.rule else ""


def _wrong_ticks(mapping: ColumnMap) -> Iterator[Fault]:
    if mapping.ticks and mapping.record not in TICKED:
        yield Fault(f"ticks: a {mapping.record} has no damage of its own", f"one of {', '.join(TICKED)}", (("ticks",),))
    for heading, target in mapping.ticks.items():
        judged = damage_of_tick(target)
        if judged.rule:
            yield Fault(f"ticks: '{target}' names no damage", judged.expected or "", (("ticks", heading),))
        if mapping.columns.get(heading):
            what = f"ticks: '{heading}' is mapped to '{mapping.columns[heading]}' already"
            yield Fault(what, "a heading with nothing else to fill", (("ticks", heading),))


def _is_encoding(name: str) -> bool:
    try:
        return codecs.lookup(name)._is_text_encoding
    except (LookupError, ValueError):
        return False


def line_of(text: str, entries: Iterable[Entry]) -> int | None:
    """The line, counted from 1, of the first of these entries that stands in the text, else of the table it is in."""
    places: dict[Entry, int] = {}
    for entry, line in _entries(text):
        places.setdefault(entry, line)
    wanted = list(entries)
    for length in range(max(map(len, wanted), default=0), 0, -1):
        for entry in wanted:
            if len(entry) >= length and entry[:length] in places:
                return places[entry[:length]]
    return None


def _entries(text: str) -> Iterator[tuple[Entry, int]]:
    """Each table and each key of a text that TOML can read, with its line."""
    table: Entry = ()
    pending: list[str] = []
    for number, line in enumerate(text.splitlines(), start=1):
        pending.append(line)
        try:
            raw = tomli.loads("\n".join(pending))
        except tomli.TOMLDecodeError:
            pending = pending if len(pending) < LONGEST_ENTRY else []
            continue
        first, is_table = number - len(pending) + 1, line.lstrip().startswith("[") and len(pending) == 1
        pending = []
        if is_table:
            table = next(iter(_paths(raw)), ())
            yield table, first
        else:
            yield from ((table + path, first) for path in _paths(raw))


def _paths(raw: dict[str, Any]) -> Iterator[Entry]:
    """Names down to each value, and before it the tables on the way where they hold several."""
    for name, value in raw.items():
        inner = list(_paths(value)) if isinstance(value, dict) else []
        yield from ((name, *path) for path in inner)
        if not inner or len(inner) > 1:
            yield (name,)
