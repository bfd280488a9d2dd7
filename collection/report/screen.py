"""Free text that names what is private of the same object: the name, place or figure is withheld, the rest stays."""

import re
from collections.abc import Iterable
from decimal import Decimal, InvalidOperation

import polars as pl

from collection.report.words import words
from schemas.fields import Partial, Points, Term
from schemas.tables import Column, TableSpec

# Names given to the other side on purpose: those who sign, whom to telephone, who borrows.
GIVEN = ("person_ours", "person_theirs", "emergency_contact", "borrower")
SEPARATORS = ("", ",", ".", "'", " ", "\u00a0", "\u202f")


def screened(spec: TableSpec, frame: pl.DataFrame, hidden: frozenset[str]) -> pl.DataFrame:
    """The frame with every private value in its free text withheld."""
    pattern = _pattern(hidden)
    free = [c.name for c in spec.columns if c.name in frame.columns and _free(spec, c)]
    if pattern is None or frame.is_empty() or not free:
        return frame
    return frame.with_columns(
        pl.Series(n, [v if v is None else pattern.sub(words()["withheld"]["word"], v) for v in frame[n]], pl.String())
        for n in free
    )


def _free(spec: TableSpec, column: Column) -> bool:
    marked = any(column.mark(kind) for kind in (Term, Points, Partial))
    return column.dtype == pl.String() and not marked and column.name not in (*spec.key, *GIVEN)


def _pattern(hidden: Iterable[str]) -> re.Pattern[str] | None:
    written = sorted({form for value in hidden for form in _forms(value)}, key=lambda f: (-len(f), f))
    return re.compile(rf"(?<!\w)(?:{'|'.join(written)})(?!\w)", re.IGNORECASE) if written else None


def _forms(value: str) -> Iterable[str]:
    """How a private value may be written in a sentence, as expressions; none where it is too short to be told apart."""
    number, least = _number(value), words()["withheld"]
    if number is None:
        parts = value.split()
        return [r"\s+".join(map(re.escape, parts))] if sum(map(len, parts)) >= least["fewest_letters"] else []
    whole = f"{int(number)}"
    if len(whole) < least["fewest_digits"]:
        return []
    return [re.escape(f"{int(number):,}".replace(",", s)) + r"(?:[.,]\d{1,2})?" for s in SEPARATORS]


def _number(value: str) -> Decimal | None:
    try:
        number = Decimal(value)
    except InvalidOperation:
        return None
    return number if number.is_finite() else None
