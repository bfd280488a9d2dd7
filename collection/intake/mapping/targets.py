"""What a heading may be taken for: in words, and as a person changes it heading by heading."""

from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from typing import TypeVar

from collection.intake.files.sheet import Sheet
from collection.intake.mapping.mapping import DAMAGE, IGNORED, KEEP, OBJECT, TAKE_ANYWAY, TICKED, ColumnMap, targets
from collection.intake.mapping.suggest import mapped
from schemas.fields import FromVocabulary, Unit
from schemas.tables import RECORDS
from schemas.vocabularies import vocabulary

NOT_USED = "Not used"
RECORD_WORDS = {OBJECT: "A catalogue of objects", RECORDS["condition_check"].name: "A list of checks"}
# Of texts that are read for several columns at once.
TEXT_WORDS = {
    "materials_text": "Materials and technique, in words",
    "classification_text": "Classification, in words",
    "date_text": "When it was made, in words",
    "dimensions_text": "Size, in words",
    "object_type_text": "What sort of thing it is, in words",
    "location_text": "Where it is, in words",
    KEEP: "Kept as it is written, as a further fact of the object",
    TAKE_ANYWAY: "A mark: take the row though it reads as outside this collection",
}
T = TypeVar("T")


def record_words(record: str) -> str:
    """What a sheet of this record is called: *A list of checks*."""
    return RECORD_WORDS.get(record) or f"{_first_line(record)} ({record.replace('_', ' ')})"


def _first_line(record: str) -> str:
    return (RECORDS[record].model.__doc__ or record).strip().split("\n")[0].rstrip(".")


@cache
def target_words(record: str) -> Mapping[str, str]:
    """Everything a heading may be taken for, with the words a person reads; what is not used stands first."""
    own = {c.name: c for c in RECORDS[record].columns}
    words = {target: TEXT_WORDS.get(target) or column_words(record, target) for target in targets(record)}
    as_it_is = {KEEP: TEXT_WORDS[KEEP]} if KEEP in words else {}
    first = {IGNORED: NOT_USED, **as_it_is, **{key: words[key] for key in RECORDS[record].key if key in own}}
    return {**first, **words, **(_ticks() if record in TICKED else {})}


def column_words(record: str, name: str) -> str:
    """What a column holds: *Largest height [mm]*. A name that the record does not have stays as it is."""
    column = next((c for c in RECORDS[record].columns if c.name == name), None) if record in RECORDS else None
    if column is None:
        return TEXT_WORDS.get(name, name)
    unit = column.mark(Unit)
    return f"{column.text} [{unit.symbol}]" if unit else column.text


def _ticks() -> dict[str, str]:
    kinds = vocabulary(_vocabulary()).labels()
    return {f"{DAMAGE.name}:{kind}": f"A mark means: {label}" for kind, label in kinds.items()}


def _vocabulary() -> str:
    mark = DAMAGE.column("kind").mark(FromVocabulary)
    return mark.vocabulary if mark else ""


def target_of(mapping: ColumnMap, heading: str) -> str:
    """What a heading is taken for: a column, `damage:KIND` where its marks mean a damage, or nothing."""
    return mapping.ticks.get(heading) or mapping.columns.get(heading, IGNORED)


def with_target(mapping: ColumnMap, sheet: Sheet, heading: str, target: str) -> ColumnMap:
    """The mapping with the heading taken for this; units, orders and signs of its column as the sheet proves them."""
    is_tick = target.startswith(f"{DAMAGE.name}:")
    ticks = {h: t for h, t in mapping.ticks.items() if h != heading} | ({heading: target} if is_tick else {})
    columns = {**mapping.columns, heading: IGNORED if is_tick else target}
    passed_over = {h: c for h, c in mapping.passed_over.items() if h != heading}
    fresh = mapped(sheet, mapping.record, columns, passed_over)
    stays = {c for c in fresh.filled() if mapping.headings_of(c) == fresh.headings_of(c)}
    return replace(
        fresh,
        units={**fresh.units, **_of(mapping.units, stays)},
        orders={**fresh.orders, **_of(mapping.orders, stays)},
        unknown={**fresh.unknown, **_of(mapping.unknown, stays)},
        words=_of(mapping.words, stays),
        decimal_comma=tuple(sorted({*fresh.decimal_comma} - stays | {*mapping.decimal_comma} & stays)),
        encoding=mapping.encoding,
        same={c: value for c, value in mapping.same.items() if not fresh.headings_of(c)},
        ticks=ticks,
        text=mapping.text,
    )


def _of(section: Mapping[str, T], columns: set[str]) -> dict[str, T]:
    return {column: entry for column, entry in section.items() if column in columns}
