"""The order of day, month and year as a person writes it: `dd.mm.yyyy`, `d/m/yyyy`, `TT.MM.JJJJ`, `jj/mm/aaaa`."""

import re

from collection.intake.mapping.headings import listed
from collection.validation.conventions import DateOrder

EXPECTED_ORDER = "day, month and year with one sign between them, such as dd.mm.yyyy, mm/dd/yyyy or yyyy-mm-dd"
_PARTS = re.compile(r"([^\W\d_]+)\s*([-./ ])\s*([^\W\d_]+)\s*\2\s*([^\W\d_]+)")


def parse_order(written: str) -> DateOrder:
    """The order written. Raises ValueError where it is none, or names a part twice."""
    match = _PARTS.fullmatch(written.strip().lower())
    parts = tuple(_part(match[n]) for n in (1, 3, 4)) if match else ()
    if match is None or set(parts) != {"day", "month", "year"}:
        raise ValueError(f"'{written}' is no order of day, month and year")
    return DateOrder((parts[0], parts[1], parts[2]), match[2])


def _part(letters: str) -> str:
    return next((part for part, spellings in listed()["date_order"].items() if letters in spellings), "")
