"""A mapping that a person changes heading by heading: what goes with a column follows it, what was said stays."""

from collections.abc import Mapping
from dataclasses import replace
from typing import TypeVar

from collection.intake.files.sheet import Sheet
from collection.intake.mapping.mapping import DAMAGE, IGNORED, ColumnMap
from collection.intake.mapping.suggest import mapped

T = TypeVar("T")


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
