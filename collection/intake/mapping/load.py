"""Mappings read back: one that a person saved and edited, or the one with which such a file was read before.

Every line of a saved one is understood, or refused with its place.
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, time
from pathlib import Path
from typing import Annotated, Any, TypeVar

import tomli
from pydantic import BaseModel, BeforeValidator, ConfigDict, ValidationError

from collection.files import read_source
from collection.intake.files.refused_workbook import OURS, TAKE
from collection.intake.files.sheet import Sheet
from collection.intake.mapping.faults import Entry, faults_of, line_of
from collection.intake.mapping.mapping import BROUGHT_IN, IGNORED, TAKE_ANYWAY, ColumnMap, LoggerAnswers
from collection.intake.mapping.suggest import with_evidence
from collection.snapshot import Collection
from collection.validation.conventions import is_date
from schemas.errors import SourceRefused, WrongUsage
from schemas.tables import RECORDS

T = TypeVar("T")
ANY_SHEET = ""
MOST_BYTES = 2_000_000
LONGEST_TEXT = 100_000  # letters of a file that is remembered with its comments


def _as_written(value: object) -> object:
    """A number, a day or *true* that somebody wrote without quotes, as the text of a cell."""
    if isinstance(value, bool):
        return str(value).lower()
    return str(value) if isinstance(value, int | float | date | time) else value


Cell = Annotated[str, BeforeValidator(_as_written)]


class _Logger(BaseModel):
    model_config = ConfigDict(extra="forbid", defer_build=True)  # built where a file is read
    name: str = ""
    zone: str = ""
    order: str = ""
    temperature: str = ""
    humidity: str = ""
    names: dict[str, str] = {}
    places: dict[str, str] = {}


class _Written(BaseModel):
    model_config = ConfigDict(extra="forbid", defer_build=True)  # built where a file is read
    record: str
    columns: dict[str, str] | None = None  # needed but where a logger wrote the file
    logger: _Logger | None = None
    units: dict[str, str] = {}
    order: dict[str, str] = {}
    unknown: dict[str, tuple[str, ...]] = {}
    decimal_comma: tuple[str, ...] = ()
    encoding: str = ""
    words: dict[str, dict[str, Cell]] = {}
    same: dict[str, Cell] = {}
    ticks: dict[str, str] = {}


@dataclass(frozen=True)
class _Place:
    """Where a mapping stands: the file, its text, and the tables down to the mapping of a sheet."""

    file: str
    text: str
    within: Entry

    def wrong(self, what: str, expected: str, to_do: str, *entries: Entry) -> WrongUsage:
        """What is wrong, with the line it stands in where that can be told."""
        line = line_of(self.text, [(*self.within, *entry) for entry in entries])
        parts = (self.file, f"line {line}" if line else "", f"sheet {self.within[1]}" if self.within else "")
        return WrongUsage(", ".join(filter(None, parts)), what, expected, to_do)


def load(path: Path) -> Mapping[str, ColumnMap]:
    """Mappings that a person saved, by name of sheet (empty: for any sheet).

    Raises WrongUsage with the place and what was expected there.
    """
    where = str(path)
    text = _read(path)
    whole = _parsed(where, text)
    sheets = whole.get("sheet", {ANY_SHEET: whole})
    if not isinstance(sheets, dict) or not sheets:
        raise _Place(where, text, ()).wrong(
            "'sheet' is no table", "[sheet.NAME] for each sheet", "Correct the line named.", ("sheet",)
        )
    within = {name: ("sheet", name) if "sheet" in whole else () for name in sheets}
    filled = {name: raw for name, raw in sheets.items() if not _left_blank(raw)} or sheets
    return {name: _mapping(_Place(where, text, within[name]), raw) for name, raw in filled.items()}


def _left_blank(raw: object) -> bool:
    """A sheet of a printed mapping in which nobody filled anything in."""
    if not isinstance(raw, dict) or raw.get("record") != "":
        return False
    columns = raw.get("columns", {})
    return isinstance(columns, dict) and not any(columns.values())


def _read(path: Path) -> str:
    where = str(path)
    try:
        return read_source(path, MOST_BYTES).decode("utf-8-sig").replace("\r\n", "\n")
    except SourceRefused as refused:
        raise WrongUsage(where, refused.what, "a mapping saved by `enamels intake`", refused.to_do) from None
    except UnicodeDecodeError as error:
        raise _unreadable(where, error) from None


def _parsed(where: str, text: str) -> dict[str, Any]:
    try:
        return tomli.loads(text)
    except (tomli.TOMLDecodeError, RecursionError) as error:
        raise _unreadable(where, error) from None


def _unreadable(where: str, error: Exception) -> WrongUsage:
    return WrongUsage(where, f"the mapping cannot be read ({error})", "TOML in UTF-8", "Correct the line named.")


def _mapping(place: _Place, raw: object) -> ColumnMap:
    written = _written(place, raw)
    columns = written.columns or {}
    orders = {**{c: u for c, u in written.units.items() if _is_date(written.record, c)}, **written.order}
    mapping = ColumnMap(
        written.record,
        columns,
        _by_column({c: u for c, u in written.units.items() if c not in orders}, columns),
        _by_column(orders, columns),
        _by_column(written.unknown, columns),
        written.decimal_comma,
        written.encoding,
        logger=_answers(written.logger) if written.logger else None,
        words=_by_column(written.words, columns),
        same=written.same,
        ticks=written.ticks,
        text=place.text if len(place.text) <= LONGEST_TEXT else "",
    )
    for fault in faults_of(mapping):
        raise place.wrong(fault.what, fault.expected, "Correct the entry named.", *fault.entries)
    return mapping


def _written(place: _Place, raw: object) -> _Written:
    """What stands in the file, each entry of its own kind."""
    try:
        written = _Written.model_validate(raw)
    except ValidationError as error:
        first = error.errors()[0]
        entry = tuple(map(str, first["loc"]))
        raise place.wrong(f"{'.'.join(entry)}: {first['msg']}", "", "Correct the entry named.", entry) from None
    if written.columns is None and written.logger is None:
        raise place.wrong("columns: there are none", "[columns] with headings, or [logger]", "Add them.")
    if written.record not in BROUGHT_IN:
        what = f"'{written.record}' is no record that a file can bring in"
        raise place.wrong(what, ", ".join(BROUGHT_IN), "Choose one of them.", ("record",))
    return written


def _answers(written: _Logger) -> LoggerAnswers:
    """What was answered; an entry without a value is a question that is still open."""
    filled = {n: {k: v for k, v in getattr(written, n).items() if v} for n in ("names", "places")}
    return LoggerAnswers(**{**written.model_dump(), **filled})


def _is_date(record: str, column: str) -> bool:
    return any(c.name == column and is_date(c) for c in RECORDS[record].columns)


def _by_column(section: Mapping[str, T], columns: Mapping[str, str]) -> dict[str, T]:
    """Entries by column; a heading may stand for its column."""
    return {columns.get(name) or name: entry for name, entry in section.items()}


def remembered(sheet: Sheet, collection: Collection) -> ColumnMap | None:
    """The mapping with which a file of the same headings was last read, if any."""
    headings = set(sheet.headings) - {*OURS, TAKE}
    files = collection["intake_file"].drop_nulls("mapping").select("read_on", "mapping").rows()
    sheets = [(day, one) for day, written in files for one in json.loads(written).values()]
    for day, raw in sorted(sheets, key=lambda pair: (pair[0], pair[1].get("read_at", "")), reverse=True):
        if set(raw["columns"]) - {*OURS, TAKE} == headings and raw["record"] in BROUGHT_IN:
            again = with_evidence(mapping_of(raw, sheet, str(day)), sheet)
            if next(faults_of(again), None) is None:  # an earlier version took units that this one asks about
                return again
    return None


def mapping_of(raw: Mapping[str, Any], sheet: Sheet, day: str = "") -> ColumnMap:
    """A mapping as the register holds it, for a sheet with its headings."""
    columns = dict.fromkeys(sheet.headings, IGNORED) | {h: t for h, t in raw["columns"].items() if h in sheet.headings}
    if TAKE in columns and not columns[TAKE]:
        columns[TAKE] = TAKE_ANYWAY
    orders: dict[str, str] = dict(raw.get("orders", {}))
    units: dict[str, str] = {}
    for column, written in raw["units"].items():  # version 0.1.0 kept the order of dates among the units
        (orders if "yyyy" in written else units)[column] = written
    unknown = {name: tuple(words) for name, words in raw["unknown"].items()}
    return ColumnMap(
        str(raw["record"]),
        columns,
        units,
        orders,
        unknown,
        tuple(raw["decimal_comma"]),
        str(raw.get("encoding", "")),
        remembered=day,
        words=raw.get("words", {}),  # absent from what 0.1.0 kept, as those below
        same=raw.get("same", {}),
        ticks=raw.get("ticks", {}),
        text=str(raw.get("text", "")),
    )
