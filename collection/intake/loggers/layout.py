"""Where things stand in a file that a logger wrote: its head, its headings, the columns of time and of values."""

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from collection.intake.loggers.times import IS_CLOCK, IS_DATE, IS_MOMENT, NUMBER, is_epoch_or_serial
from collection.intake.loggers.words import HUMIDITY, LIGHT, MEAN, TEMPERATURE, Heading, heading, listed, zone_minutes
from collection.intake.mapping.headings import known_words
from collection.validation.spelling import plain

MEASURED = (TEMPERATURE, HUMIDITY, LIGHT)
HEADING_ROWS, SAMPLE_ROWS, LEAST_CELLS = 4, 120, 2
Grid = Sequence[Sequence[str]]


@dataclass(frozen=True)
class TimeColumns:
    """Columns of one clock: `moment` with both, or `date` with or without `clock`.

    `numeric`: a count of days or seconds.
    """

    moment: int | None = None
    date: int | None = None
    clock: int | None = None
    numeric: bool = False

    @property
    def first(self) -> int:
        """The column that tells whether a row holds a reading."""
        return self.moment if self.moment is not None else int(self.date or 0)


@dataclass(frozen=True)
class Measured:
    """A column of values: quantity, unit (empty: not stated), name of its logger or place (empty: none), its clock."""

    column: int
    quantity: str
    unit: str
    name: str
    clock: TimeColumns


@dataclass(frozen=True)
class Layout:
    """`first`: the first row of readings, from 0; `head`: what lines above say, by plain words; `unused`: headings and
    columns nobody needs; `refused`: why nothing can be read, where that is so."""

    first: int
    measured: tuple[Measured, ...]
    head: Mapping[str, str] = field(default_factory=dict)
    logger_column: int | None = None
    place_column: int | None = None
    unused: tuple[tuple[str, int], ...] = ()
    zone: int | None = None
    refused: str = ""


def layout(rows: Grid) -> Layout | None:
    """The layout of a file by its first rows; None where it is no file of a logger."""
    width = max((len(row) for row in rows), default=0)
    even = [[*(c.strip() for c in row), *[""] * (width - len(row))] for row in rows]
    clocks = list(_clocks(even, width))
    if not clocks:
        return None
    first = next(i for i, row in enumerate(even) if _has_time(row, clocks[0]))
    while first and _looks_read(even[first - 1]):
        first -= 1
    at = _heading_rows(even, first)
    texts = [_stacked([even[i] for i in at], column) for column in range(width)]
    heads = [heading(text) for text in texts]
    head = dict(_head(even[: min(at, default=first)]))
    values = list(_values(heads, clocks, even[first:]))
    if not {m.quantity for m in values} & {TEMPERATURE, HUMIDITY}:
        return None
    days = all(c.clock is None and c.date is not None for c in clocks)
    if days and (len({m.quantity for m in values}) < 2 or any(_numbers_objects(even[i]) for i in at)):
        return None  # days beside one figure, or beside objects, may be anything
    return _with_columns(first, texts, heads, head, values, clocks)


def _with_columns(
    first: int, texts: Sequence[str], heads: Sequence[Heading], head: Mapping[str, str], values: list[Measured],
    clocks: Sequence[TimeColumns],
) -> Layout:  # fmt: skip
    """The columns that are used, those that are not, and the zone that head or heading states."""
    stated = [heads[m.column] for m in values]
    ends = bool(stated) and all(h.statistic not in ("", MEAN) for h in stated)
    used = [m for m, h in zip(values, stated, strict=True) if h.statistic in ("", MEAN)]
    columns = {"logger": None, "place": None} | {h.kind: i for i, h in reversed(list(enumerate(heads)))}
    used_columns = {m.column for m in used} | {n for c in clocks for n in (c.moment, c.date, c.clock) if n is not None}
    used_columns |= {i for i in (columns["logger"], columns["place"]) if i is not None}
    unused = [(text, i) for i, text in enumerate(texts) if text and i not in used_columns]
    zones = [heads[n].zone for c in clocks for n in (c.moment, c.clock, c.date) if n is not None]
    why = "the file holds the lowest and highest of each day, which are no readings" if ends else ""
    zone = next((z for z in [*zones, _zone_of(head)] if z is not None), None)
    return Layout(first, tuple(used), head, columns["logger"], columns["place"], tuple(unused), zone, why)


def _numbers_objects(row: Sequence[str]) -> bool:
    words = known_words()["object"]
    return any(words.get(plain(cell), ("", 0))[0] == "object_id" for cell in row)


def _zone_of(head: Mapping[str, str]) -> int | None:
    words = listed()["zone"]["words"]
    return next((zone_minutes(value) for key, value in head.items() if key in words), None)


def _clocks(rows: Grid, width: int) -> Iterator[TimeColumns]:
    """The columns of time, by their cells; of numbers, where a heading says that they are times."""
    sample = rows[-SAMPLE_ROWS:]
    kinds = [_kind([row[i] for row in sample]) for i in range(width)]
    dates = [i for i, kind in enumerate(kinds) if kind == "date"]
    for i, kind in enumerate(kinds):
        if kind == "moment":
            yield TimeColumns(moment=i)
        elif kind == "date":
            following = dates[dates.index(i) + 1] if i != dates[-1] else width
            yield TimeColumns(date=i, clock=next((n for n in range(i + 1, following) if kinds[n] == "clock"), None))
    if not {"moment", "date"} & set(kinds):
        numeric = (i for i, kind in enumerate(kinds) if kind == "number" and _headed_as_time(rows, i))
        yield from (TimeColumns(moment=i, numeric=True) for i in numeric)


def _kind(cells: Sequence[str]) -> str:
    """What most of the filled cells of a column are."""
    tests: dict[str, Callable[[str], object]] = {
        "moment": IS_MOMENT.match,
        "date": IS_DATE.match,
        "clock": IS_CLOCK.match,
        "number": is_epoch_or_serial,
    }
    filled = [c for c in cells if c]
    counted = {name: sum(1 for c in filled if test(c)) for name, test in tests.items()}
    best = max(counted, key=lambda name: counted[name])
    return best if counted[best] and counted[best] * 2 >= len(filled) else ""


def _headed_as_time(rows: Grid, column: int) -> bool:
    return any(heading(row[column]).kind in ("moment", "date") for row in rows[:SAMPLE_ROWS] if row[column])


def _has_time(row: Sequence[str], clock: TimeColumns) -> bool:
    cell = row[clock.first]
    if clock.numeric:
        return bool(is_epoch_or_serial(cell))
    return bool((IS_DATE if clock.date is not None else IS_MOMENT).match(cell))


def _looks_read(row: Sequence[str]) -> bool:
    """Half of the cells are numbers and none heads a column: a reading whose time cannot be read."""
    filled = [c for c in row if c]
    if any(heading(c).kind or heading(c).unit for c in filled):
        return False
    numbers = sum(1 for c in filled if NUMBER.match(c))
    return len(filled) >= LEAST_CELLS and numbers * 2 >= len(filled)


def _heading_rows(rows: Grid, first: int) -> list[int]:
    """The rows right above the readings, four at most, that are no line of the head."""
    at: list[int] = []
    for i in range(first - 1, -1, -1):
        filled = [c for c in rows[i] if c]
        if not filled and at:
            break
        if filled:
            known = sum(1 for c in filled if heading(c).kind or heading(c).unit)
            is_head = len(filled) < LEAST_CELLS or (at and len(filled) == 2 and rows[i][0] and known < 2)
            if at and (is_head or len(at) == HEADING_ROWS):
                break
            at = at if is_head else [i, *at]
    return at


def _stacked(rows: Grid, column: int) -> str:
    """The headings over a column; a cell of an upper row reaches to the right up to the next."""
    parts = []
    for n, row in enumerate(rows):
        cell = row[column]
        if not cell and n + 1 < len(rows) and any(below[column] for below in rows[n + 1 :]):
            cell = next((row[i] for i in range(column, -1, -1) if row[i]), "")
            cell = "" if heading(cell).kind in ("moment", "date", "clock") else cell
        parts.append(cell)
    return " ".join(p for p in parts if p)


KEY_VALUE = re.compile(r"^\s*([^:=]{2,40}?)\s*[:=]\s*(\S.*)$")


def _head(rows: Grid) -> Iterator[tuple[str, str]]:
    """What the lines above the headings say: a word and its value, in two cells or in one with a colon between."""
    for row in rows:
        yield from _pair(row)


def _pair(row: Sequence[str]) -> Iterator[tuple[str, str]]:
    filled = [c for c in row if c]
    if filled and (match := KEY_VALUE.match(filled[0])):
        yield plain(match[1]), match[2].strip()
    elif len(filled) >= LEAST_CELLS:
        yield plain(filled[0].rstrip(":")), filled[1]


def named_in(head: Mapping[str, str], kind: str) -> str:
    """The logger or place that a head names; empty where it names none."""
    words = listed()["logger"]["column" if kind == "logger" else "place"]
    return next((value for word in words for key, value in head.items() if key == word), "")


def line_names(row: Sequence[str]) -> str:
    """The logger that a line between two blocks names; empty where it names none."""
    return named_in(dict(_pair([c.strip() for c in row])), "logger")


def _values(heads: Sequence[Heading], clocks: Sequence[TimeColumns], body: Grid) -> Iterator[Measured]:
    """Columns of values, each with the last clock to its left."""
    for column, head in enumerate(heads):
        if head.kind in MEASURED and any(row[column] for row in body):
            left = [c for c in clocks if c.first < column]
            yield Measured(column, head.kind, head.unit, head.name, left[-1] if left else clocks[0])
