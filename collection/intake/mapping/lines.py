"""On which line of a TOML text an entry stands: what reads TOML gives values, and a person needs the place."""

from collections.abc import Iterable, Iterator
from typing import Any

import tomli

LONGEST_ENTRY = 200  # lines of one entry that are put together; a longer one is named by its table

Entry = tuple[str, ...]  # names of the tables and the key: ("units", "height_mm")


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
