"""A mapping as TOML: written anew with examples, or into the text a person wrote, whose comments and order stay."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import Table

from collection.intake.mapping.mapping import BROUGHT_IN, EXAMPLES, LONGEST_EXAMPLE, ColumnMap, LoggerAnswers

# Section of the file, and what of a mapping stands in it by column; a heading may stand there for its column.
BY_COLUMN = {"units": "units", "order": "orders", "unknown": "unknown", "words": "words"}
SHEETS = "sheet"
Examples = Mapping[str, Sequence[str]]  # heading to some of its values


def as_toml(maps: Mapping[str, ColumnMap], examples: Mapping[str, Examples] | None = None) -> str:
    """Mappings of one or several sheets as one file to edit and to give to `--mapping`.

    Where a person wrote them in one file before, that file again, with its comments.
    """
    texts = {one.text for one in maps.values()}
    if len(texts) == 1 and (again := written_again(texts.pop(), maps)) is not None:
        return again
    document = tomlkit.document()
    shown = examples or {}
    if len(maps) == 1:
        ((name, only),) = maps.items()
        _fill(document, only, shown.get(name, {}))
        return tomlkit.dumps(document)
    sheets = tomlkit.table(is_super_table=True)
    for name, one in maps.items():
        sheet = tomlkit.table()
        _fill(sheet, one, shown.get(name, {}))
        sheets.add(name, sheet)
    document.add("sheet", sheets)
    return tomlkit.dumps(document)


def _fill(document: tomlkit.TOMLDocument | Table, mapping: ColumnMap, examples: Examples) -> None:
    record = tomlkit.item(mapping.record)
    if not mapping.record:
        record.comment(f"one of {', '.join(BROUGHT_IN)}")
    document.add("record", record)
    if mapping.encoding:
        document.add("encoding", tomlkit.item(mapping.encoding))
    if mapping.logger is not None:
        _fill_logger(document, mapping.logger)
        return
    document.add("decimal_comma", tomlkit.item(list(mapping.decimal_comma)))
    columns = tomlkit.table()
    for heading, target in mapping.columns.items():
        value = tomlkit.item(target)
        if seen := _comment(examples.get(heading, ())):
            value.comment(seen)
        columns.add(tomlkit.key(heading), value)
    document.add("columns", columns)
    document.add("units", tomlkit.item(dict(mapping.units)))
    document.add("order", tomlkit.item(dict(mapping.orders)))
    document.add("unknown", tomlkit.item({c: list(w) for c, w in mapping.unknown.items()}))
    more = {"words": {c: dict(w) for c, w in mapping.words.items()}, "same": mapping.same, "ticks": mapping.ticks}
    for section, entries in more.items():
        if entries:
            document.add(section, tomlkit.item(dict(entries)))


def _fill_logger(document: tomlkit.TOMLDocument | Table, answers: LoggerAnswers) -> None:
    """The answers of a logger's file; its columns are read by what heads them."""
    table = tomlkit.table()
    for name, value in asdict(answers).items():
        if name in ("names", "places"):
            table.add(name, tomlkit.item(dict(value)))
        elif name not in ("of", "day"):
            table.add(name, tomlkit.item(value))
    document.add("logger", table)


def _comment(values: Sequence[str]) -> str:
    """Some values of a column on one line, with nothing in them that a terminal obeys."""
    short = ["".join(c if c.isprintable() else " " for c in value)[:LONGEST_EXAMPLE] for value in values[:EXAMPLES]]
    return " | ".join(short)


def written_again(text: str, maps: Mapping[str, ColumnMap]) -> str | None:
    """The text with these mappings; None where there is none, or it has no place for one of them.

    `maps`: by name of sheet; where the text is of one mapping alone, that one whatever its name.
    """
    if not text or any(mapping.logger is not None for mapping in maps.values()):
        return None
    try:
        document = tomlkit.parse(text)
    except TOMLKitError:
        return None
    tables = document.get(SHEETS)
    if tables is None and len(maps) == 1:
        _change(document, next(iter(maps.values())))
    elif tables is not None and set(maps) <= set(tables):
        for name, mapping in maps.items():
            _change(tables[name], mapping)
    else:
        return None
    return tomlkit.dumps(document)


def _change(table: tomlkit.TOMLDocument | Table, mapping: ColumnMap) -> None:
    """Set what differs, and take out what is no longer said."""
    _put(table, "record", mapping.record)
    _put(table, "encoding", mapping.encoding or None)
    _put(table, "decimal_comma", list(mapping.decimal_comma) or None)
    written = dict(table.get("columns", {}))
    used = {h: target for h, target in mapping.columns.items() if target or h in written}
    _section(table, "columns", used)
    for section, part in BY_COLUMN.items():
        entries: Mapping[str, Any] = getattr(mapping, part)
        names = {mapping.columns.get(n) or written.get(n) or n: n for n in table.get(section, {})}
        _section(table, section, {names.get(c, c): _plain(value) for c, value in entries.items()})
    _section(table, "same", mapping.same)
    _section(table, "ticks", mapping.ticks)


def _plain(value: Any) -> Any:
    """As TOML has it: tables and lists."""
    if isinstance(value, Mapping):
        return dict(value)
    return list(value) if isinstance(value, tuple) else value


def _section(table: Any, name: str, entries: Mapping[str, Any]) -> None:
    if name not in table:
        if any(entries.values()):
            table.add(name, tomlkit.item(dict(entries)))
        return
    for gone in [entry for entry in table[name] if entry not in entries]:
        del table[name][gone]
    for entry, value in entries.items():
        _put(table[name], entry, value)


def _put(table: Any, name: str, value: Any) -> None:
    """Set an entry where it says something else; what stands behind it on its line stays."""
    if value is None:
        if name in table and table[name]:
            del table[name]
    elif name not in table:
        table.add(tomlkit.key(name), tomlkit.item(value))
    elif table[name] != value:
        item, before = tomlkit.item(value), table.item(name).trivia
        if before.comment:
            item.comment(before.comment.lstrip("# "))
        table[name] = item
