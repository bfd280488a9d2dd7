"""A mapping that a person saved and edited, read back: every line understood, or refused with its place."""

import codecs
import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ConfigDict, ValidationError

from collection.files import read_source
from collection.intake.loggers.questions import faults_of_answers
from collection.intake.mapping.mapping import BROUGHT_IN, IGNORED, JOINED, ColumnMap, LoggerAnswers, targets
from collection.validation.conventions import EXPECTED_ORDER, factor_of, is_date, parse_order, unit_factors
from collection.validation.problems import needed_columns
from schemas.errors import SourceRefused, WrongUsage
from schemas.fields import Unit
from schemas.records.catalogue import WHOLE_COLUMN
from schemas.tables import RECORDS, Column

ANY_SHEET = ""
MOST_BYTES = 2_000_000
WRITTEN_WITHOUT = {"condition_check": ("check_id", "look")}  # made from object and day where a list has none


class _Logger(BaseModel):
    model_config = ConfigDict(extra="forbid")
    name: str = ""
    zone: str = ""
    order: str = ""
    temperature: str = ""
    humidity: str = ""
    names: dict[str, str] = {}
    places: dict[str, str] = {}


class _Written(BaseModel):
    model_config = ConfigDict(extra="forbid")
    record: str
    columns: dict[str, str] | None = None  # needed but where a logger wrote the file
    logger: _Logger | None = None
    units: dict[str, str] = {}
    order: dict[str, str] = {}
    unknown: dict[str, tuple[str, ...]] = {}
    decimal_comma: tuple[str, ...] = ()
    encoding: str = ""


def load(path: Path) -> Mapping[str, ColumnMap]:
    """Mappings that a person saved, by name of sheet (empty: for any sheet).

    Raises WrongUsage with the place and what was expected there.
    """
    where = str(path)
    whole = _read(path)
    sheets = whole.get("sheet", {ANY_SHEET: whole})
    if not isinstance(sheets, dict) or not sheets:
        raise WrongUsage(where, "'sheet' is no table", "[sheet.NAME] for each sheet", "Correct the line named.")
    maps = {}
    for name, raw in sheets.items():
        maps[name] = _mapping(f"{where}, sheet {name}" if name else where, raw)
    return maps


def _read(path: Path) -> dict[str, Any]:
    where = str(path)
    try:
        return tomllib.loads(read_source(path, MOST_BYTES).decode("utf-8-sig"))
    except SourceRefused as refused:
        raise WrongUsage(where, refused.what, "a mapping saved by `enamels intake`", refused.to_do) from None
    except (tomllib.TOMLDecodeError, UnicodeDecodeError, RecursionError) as error:
        raise WrongUsage(
            where, f"the mapping cannot be read ({error})", "TOML in UTF-8", "Correct the line named."
        ) from None


def _mapping(where: str, raw: object) -> ColumnMap:
    try:
        written = _Written.model_validate(raw)
    except ValidationError as error:
        first = error.errors()[0]
        dotted = ".".join(map(str, first["loc"]))
        raise WrongUsage(where, f"{dotted}: {first['msg']}", "", "Correct the entry named.") from None
    if written.columns is None and written.logger is None:
        raise WrongUsage(where, "columns: there are none", "[columns] with headings, or [logger]", "Add them.")
    if written.record not in BROUGHT_IN:
        what = f"'{written.record}' is no record that a file can bring in"
        raise WrongUsage(where, what, ", ".join(BROUGHT_IN), "Choose one of them.")
    orders = {**{c: u for c, u in written.units.items() if _is_date(written.record, c)}, **_by_column(written)}
    units = {c: u for c, u in written.units.items() if c not in orders}
    logger = _answers(written.logger) if written.logger else None
    mapping = ColumnMap(
        written.record,
        written.columns or {},
        units,
        orders,
        written.unknown,
        written.decimal_comma,
        written.encoding,
        logger=logger,
    )
    for what, expected in faults_of(mapping):
        raise WrongUsage(where, what, expected, "Correct the entry named.")
    return mapping


def _answers(written: _Logger) -> LoggerAnswers:
    """What was answered; an entry without a value is a question that is still open."""
    filled = {n: {k: v for k, v in getattr(written, n).items() if v} for n in ("names", "places")}
    return LoggerAnswers(**{**written.model_dump(), **filled})


def _is_date(record: str, column: str) -> bool:
    return any(c.name == column and is_date(c) for c in RECORDS[record].columns)


def _by_column(written: _Written) -> dict[str, str]:
    """Orders by column; a heading may stand for its column."""
    return {(written.columns or {}).get(name) or name: order for name, order in written.order.items()}


def faults_of(mapping: ColumnMap) -> Iterator[tuple[str, str]]:
    """What is wrong with a mapping, and what was expected there."""
    if mapping.logger is not None:
        yield from faults_of_answers(mapping.logger)
        return
    known = targets(mapping.record)
    named = [*mapping.columns.values(), *mapping.units, *mapping.orders, *mapping.unknown, *mapping.decimal_comma]
    for column in sorted({t for t in named if t and t not in known}):
        yield f"'{column}' is not a column of {mapping.record}", f"one of {', '.join(known)}, or nothing"
    filled = [t for t in mapping.columns.values() if t != IGNORED]
    for column in sorted({t for t in filled if filled.count(t) > 1 and t not in JOINED}):
        yield f"several headings are mapped to '{column}'", "one heading for a column"
    not_needed = WRITTEN_WITHOUT.get(mapping.record, ())
    for column in needed_columns(RECORDS[mapping.record]):
        if column not in (*filled, *not_needed, WHOLE_COLUMN):
            yield f"no heading is mapped to '{column}', which a row cannot do without", "a heading for it"
    columns = {c.name: c for c in RECORDS[mapping.record].columns}
    for name, unit in mapping.units.items():
        yield from _unit_fault(name, unit, columns.get(name))
    for name, order in mapping.orders.items():
        yield from _order_fault(name, order, columns.get(name))
    if mapping.encoding and not _is_encoding(mapping.encoding):
        yield f"'{mapping.encoding}' is no encoding that is known", "a name such as utf-8, cp1250 or koi8-r"


def _unit_fault(name: str, unit: str, column: Column | None) -> Iterator[tuple[str, str]]:
    mark = column.mark(Unit) if column else None
    if mark is None or mark.symbol not in unit_factors():
        yield f"units: '{name}' has no unit that could be stated", "a column with a size, a weight or another measure"
    elif unit and factor_of(unit, mark.symbol) is None:
        yield f"units: '{unit}' is no unit of {name}", f"one of {', '.join(unit_factors()[mark.symbol])}"


def _order_fault(name: str, order: str, column: Column | None) -> Iterator[tuple[str, str]]:
    if column is None or not is_date(column):
        yield f"order: '{name}' holds no dates", "a column with dates"
        return
    try:
        parse_order(order)
    except ValueError as error:
        yield f"order: {error}", EXPECTED_ORDER


def _is_encoding(name: str) -> bool:
    try:
        return codecs.lookup(name)._is_text_encoding
    except (LookupError, ValueError):
        return False
