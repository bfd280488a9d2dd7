"""Suggesting a mapping: which record a sheet holds, which heading means which column. A person decides."""

from collections.abc import Iterable, Mapping

import polars as pl

from collection.intake.files.sheet import Sheet
from collection.intake.mapping.headings import known_words, plain, take_apart, unit_factors
from collection.intake.mapping.mapping import OBJECT, PROSE, UNSAID, ColumnMap
from schemas.fields import FromVocabulary, Partial, Unit
from schemas.records import house
from schemas.records.catalogue import WHOLE_COLUMN
from schemas.tables import RECORDS, TableSpec
from schemas.vocabularies import vocabulary

JOINED = (*PROSE, "description", "period_text")  # several headings may fill one of these
SAMPLE_ROWS = 2_000
# The register writes the others itself.
BROUGHT_IN = [
    name for name, spec in RECORDS.items() if spec.model.__module__ != house.__name__ or name == house.Setting.record
]


def suggest(sheet: Sheet, record: str | None = None) -> ColumnMap | None:
    """A mapping for the record named, else for the record that fits best; None where no record's key is there."""
    names = [record] if record else BROUGHT_IN
    found = {name: _columns(sheet.headings, name) for name in names}
    fitting = {name: cols for name, cols in found.items() if _has_key(RECORDS[name], cols.values())}
    if not fitting:
        return None
    best = max(fitting, key=lambda name: (_exact(sheet.headings, name), sum(1 for t in fitting[name].values() if t)))
    return _map(sheet, best, fitting[best])


def recognised(headings: Iterable[str]) -> int:
    """How many of these are headings of any record."""
    known = {words for record in known_words().values() for words in record}
    return sum(1 for h in headings if take_apart(h).words in known or plain(h) in known)


def _exact(headings: Iterable[str], record: str) -> int:
    """Headings that are the record's own column names, letter by letter."""
    return len({c.name for c in RECORDS[record].columns} & set(headings))


def _columns(headings: list[str], record: str) -> dict[str, str]:
    """Heading to column; where several mean one column, the preferred one keeps it."""
    words, own = known_words()[record], {c.name for c in RECORDS[record].columns}
    wanted: list[tuple[int, int, str, str]] = []
    for place, heading in enumerate(headings):
        column, rank = words.get(plain(heading)) or words.get(take_apart(heading).words) or (UNSAID, 0)
        wanted.append((0, place, heading, heading) if heading in own else (rank, place, heading, column))
    taken: set[str] = set()
    chosen = dict.fromkeys(headings, UNSAID)
    for _, _, heading, column in sorted(wanted, key=lambda w: w[:2]):
        if column and (column not in taken or column in JOINED):
            chosen[heading] = column
            taken.add(column)
    return chosen


def _has_key(spec: TableSpec, columns: Iterable[str]) -> bool:
    needed = {c.name for c in spec.columns if c.required or c.name in spec.key} - {WHOLE_COLUMN}
    return needed <= set(columns)


def _map(sheet: Sheet, record: str, columns: Mapping[str, str]) -> ColumnMap:
    spec = RECORDS[record]
    columns = {h: UNSAID if _is_code(sheet.cells[h]) else t for h, t in columns.items()}
    columns = columns if record != OBJECT else _terms_or_prose(sheet, spec, columns)
    heading_of = {t: h for h, t in columns.items() if t}
    return ColumnMap(
        record,
        columns,
        units=_units(sheet, spec, heading_of),
        unknown=_unknown(sheet, heading_of),
        decimal_comma=tuple(
            c for c, h in heading_of.items() if _is_number(spec, c) and _has_decimal_comma(sheet.cells[h])
        ),
    )


def _terms_or_prose(sheet: Sheet, spec: TableSpec, columns: Mapping[str, str]) -> dict[str, str]:
    """A column headed like a list of terms but filled with prose is prose."""
    return {h: _as_prose(sheet.cells[h], spec, t) for h, t in columns.items()}


def _as_prose(cells: pl.Series, spec: TableSpec, target: str) -> str:
    term = spec.column(target).mark(FromVocabulary) if target in {c.name for c in spec.columns} else None
    prose = {"technique": "materials_text", "base_metal": "materials_text", "object_type": "object_type_text"}.get(
        target
    )
    if term is None or prose is None:
        return target
    known = {plain(w) for k, e in vocabulary(term.vocabulary).term.items() for w in (k, e.label)}
    seen = cells.drop_nulls().head(SAMPLE_ROWS).str.split(";").list.explode().unique().to_list()
    hits = sum(1 for v in seen if plain(v or "") in known)
    return target if not seen or hits * 2 >= len(seen) else prose


def _is_code(cells: pl.Series) -> bool:
    """Cells that hold records of their own, as JSON, are nothing a person wrote."""
    return bool(cells.drop_nulls().head(SAMPLE_ROWS).str.contains(r'^\s*[\[{]\s*["{\[\]}]').any())


def _units(sheet: Sheet, spec: TableSpec, heading_of: Mapping[str, str]) -> dict[str, str]:
    found = {}
    for column in spec.columns:
        heading, unit = heading_of.get(column.name), column.mark(Unit)
        if heading is None:
            continue
        if unit is not None and unit.symbol in unit_factors() and heading != column.name:
            found[column.name] = take_apart(heading).unit
        if column.dtype == pl.Date or column.mark(Partial) is not None:
            order = _date_order(sheet.cells[heading])
            found |= {column.name: order} if order else {}
    return found


def _date_order(cells: pl.Series) -> str:
    """dd/mm/yyyy or mm/dd/yyyy where the dates themselves leave no doubt, else empty."""
    parts = (
        cells.drop_nulls()
        .str.extract_groups(r"^\s*(\d{1,2})([./-])(\d{1,2})[./-]\d{4}\s*$")
        .struct.unnest()
        .drop_nulls()
    )
    if parts.is_empty():
        return ""
    first, second = (int(str(parts[n].cast(pl.Int64).max())) for n in ("1", "3"))
    between = parts["2"][0]
    if between == ".":
        return "dd.mm.yyyy"
    return {(True, False): "dd/mm/yyyy", (False, True): "mm/dd/yyyy"}.get((first > 12, second > 12), "")


def _unknown(sheet: Sheet, heading_of: Mapping[str, str]) -> dict[str, tuple[str, ...]]:
    """Where a catalogue also has the date in words, a year 0 is its sign for nothing: there was no such year."""
    if "date_text" not in heading_of:
        return {}
    years = [c for c in ("earliest_year", "latest_year") if c in heading_of]
    return {c: ("0",) for c in years if (sheet.cells[heading_of[c]].str.strip_chars() == "0").any()}


def _is_number(spec: TableSpec, column: str) -> bool:
    return any(c.name == column and c.dtype.is_numeric() for c in spec.columns)


def _has_decimal_comma(cells: pl.Series) -> bool:
    """Some number has a comma before one or two, or four and more, digits, and none has a point."""
    some = cells.drop_nulls().str.strip_chars()
    comma = some.str.contains(r"^-?[\d.]*\d,(\d{1,2}|\d{4,})(\s|$)").any()
    return bool(comma) and not some.str.contains(r"^-?\d+\.\d+(\s|$)").any()
