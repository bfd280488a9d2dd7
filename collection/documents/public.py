"""What may be told of one object: private columns dropped before any report code runs, free text screened.

New records and new Private columns are met without an edit here: everything is derived from the declarations.
"""

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from decimal import Decimal, InvalidOperation

import polars as pl

from collection.documents.disclosed import Disclosed
from collection.documents.words import words
from collection.snapshot import Collection
from schemas.fields import ForeignKey, FromVocabulary, Partial, Private
from schemas.tables import RECORDS, Column, TableSpec

# Names given to the other side on purpose: those who sign, whom to telephone, who borrows.
DISCLOSED_NAMES = (
    "person_ours", "person_theirs", "courier", "borrower", "cleared_by",
    "emergency_contact", "lender_contact", "courier_contact", "borrower_contact",
)  # fmt: skip
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
    marked = any(column.mark(kind) for kind in (FromVocabulary, ForeignKey, Partial))
    return column.dtype == pl.String() and not marked and column.name not in (*spec.key, *DISCLOSED_NAMES)


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


OBJECT, PLACE = "object", "location"
# Records an object reaches the other way round: the row that points is the object's, the row pointed at is wanted.
REVERSE_LINKS = {"loan": "loan_object", "loan_leg": "loan_object"}
# Settings that are printed, or say what is.
SETTINGS = ("museum", "invented", "facts_in_reports")
# The working notes of the house, the files rows came from, and who set what: never told, marked or not.
ALWAYS_PRIVATE = ("note", "source_file", "source_row", "set_here", "set_by", "withdrawn_reason")


def public(collection: Collection, object_id: str) -> Collection:
    """The rows about one object (with its loans) that count, without private columns, free text screened."""
    return publication(collection, object_id, Disclosed())[0]


def publication(collection: Collection, object_id: str, also: Disclosed) -> tuple[Collection, Disclosed]:
    """The public records of one object, and what leaves beside them; private values in free text of both withheld."""
    mine = about(collection, object_id)
    hidden = private_values(collection, mine)
    frames = {name: _public_rows(RECORDS[name], frame) for name, frame in mine.items()}
    shown = replace(collection, frames={n: screened(RECORDS[n], f, hidden) for n, f in frames.items()})
    pattern, word = _pattern(hidden), words()["withheld"]["word"]
    return shown, also if pattern is None else also.screened(lambda text: pattern.sub(word, text))


def about(collection: Collection, object_id: str) -> Mapping[str, pl.DataFrame]:
    """Rows of each record that belong to an object, found by following what points at what."""
    mine: dict[str, pl.DataFrame] = {}
    for spec in RECORDS.values():
        if spec.name in collection.frames and spec.name not in REVERSE_LINKS:
            mine[spec.name] = _belonging(spec, collection[spec.name], object_id, mine)
    for name, through in REVERSE_LINKS.items():
        mine[name] = collection[name].join(mine[through], on="loan_id", how="semi")
    mine["setting"] = collection["setting"].filter(pl.col("name").is_in(SETTINGS))
    return mine


def _belonging(spec: TableSpec, frame: pl.DataFrame, object_id: str, mine: Mapping[str, pl.DataFrame]) -> pl.DataFrame:
    if spec.name == OBJECT:
        return frame.filter(pl.col("object_id") == object_id)
    pointing = {points.record: c.name for c in spec.marked(ForeignKey) if (points := c.mark(ForeignKey))}
    if OBJECT in pointing:
        return frame.filter(pl.col(pointing[OBJECT]) == object_id)
    through = next((r for r in pointing if r in mine and _leads_home(RECORDS[r])), None)
    if through is None:
        return frame.clear()
    (key, *_) = RECORDS[through].key
    return frame.join(mine[through], left_on=pointing[through], right_on=key, how="semi")


def _leads_home(spec: TableSpec) -> bool:
    return spec.name == OBJECT or OBJECT in _points_at(spec)


def _public_rows(spec: TableSpec, frame: pl.DataFrame) -> pl.DataFrame:
    private = {c.name for c in spec.marked(Private)}
    return frame.drop([n for n in frame.columns if n in private or n in ALWAYS_PRIVATE or _derived_of(n, private)])


def _derived_of(name: str, private: set[str]) -> bool:
    return any(name in (f"{p}_earliest", f"{p}_latest") for p in private)


def private_values(collection: Collection, mine: Mapping[str, pl.DataFrame]) -> frozenset[str]:
    """Everything private about an object as text: its own, what it points at, and what is private to the house."""
    seen: set[tuple[str, str]] = set()
    values: set[str] = set()
    for name, frame in mine.items():
        values.update(_values(RECORDS[name], frame), _pointed_at(collection, RECORDS[name], frame, seen))
    for spec in RECORDS.values():
        if spec.name in collection.frames and spec.name != PLACE and _no_objects(spec):
            values.update(_values(spec, _of_places(spec, collection.frames[spec.name], seen)))
    return frozenset(values)


def _no_objects(spec: TableSpec) -> bool:
    """No object leads to the record: people, funds, rates, faults of places."""
    return not _leads_home(spec) and not any(_leads_home(RECORDS[r]) for r in _points_at(spec))


def _of_places(spec: TableSpec, frame: pl.DataFrame, seen: set[tuple[str, str]]) -> pl.DataFrame:
    """Rows about places the object was at, where the record is about places; else all."""
    at = next((c.name for c in spec.marked(ForeignKey) if (m := c.mark(ForeignKey)) and m.record == PLACE), None)
    return frame if at is None else frame.filter(pl.col(at).is_in([key for record, key in seen if record == PLACE]))


def _points_at(spec: TableSpec) -> tuple[str, ...]:
    return tuple(m.record for c in spec.marked(ForeignKey) if (m := c.mark(ForeignKey)))


def _values(spec: TableSpec, frame: pl.DataFrame) -> Iterator[str]:
    for column in spec.marked(Private):
        if column.name in frame.columns:
            values = frame[column.name].explode() if column.several else frame[column.name]
            yield from (str(v) for v in values.drop_nulls().unique() if not isinstance(v, bool))


def _pointed_at(
    collection: Collection, spec: TableSpec, frame: pl.DataFrame, seen: set[tuple[str, str]]
) -> Iterator[str]:
    """Private values of rows that private columns point at: the name of a place, of what it lies in, of an owner."""
    for column in spec.marked(Private):
        points = column.mark(ForeignKey)
        for key in frame[column.name].drop_nulls().unique() if points and column.name in frame.columns else ():
            if points and (points.record, key) not in seen:
                seen.add((points.record, key))
                target = RECORDS[points.record]
                rows = collection.frames[points.record].filter(pl.col(target.key[0]) == key)
                yield from _values(target, rows)
                yield from _pointed_at(collection, target, rows, seen)
