"""What may be told of one object: private columns dropped before any report code runs, free text screened.

New records and new Private columns are met without an edit here: everything is derived from the declarations.
"""

from collections.abc import Iterator, Mapping

import polars as pl

from collection.report.screen import screened
from collection.snapshot import Collection
from schemas.fields import Points, Private
from schemas.tables import RECORDS, TableSpec

THING, PLACE = "object", "location"
# Records an object reaches the other way round: the row that points is the object's, the row pointed at is wanted.
REACHED_BACK = {"loan": "loan_object", "loan_leg": "loan_object"}
# Settings that are printed.
SETTINGS = ("museum", "invented")
# The working notes of the house, the files rows came from, and who set what: never told, marked or not.
NEVER = ("note", "source_file", "source_row", "set_here", "set_by", "withdrawn_reason")


def public(collection: Collection, object_id: str) -> Collection:
    """The rows about one object (with its loans) that count, without private columns, free text screened."""
    mine = about(collection, object_id)
    hidden = private_values(collection, mine)
    frames = {name: _told(RECORDS[name], frame) for name, frame in mine.items()}
    return Collection(collection.version, {n: screened(RECORDS[n], f, hidden) for n, f in frames.items()})


def about(collection: Collection, object_id: str) -> Mapping[str, pl.DataFrame]:
    """Rows of each record that belong to an object, found by following what points at what."""
    mine: dict[str, pl.DataFrame] = {}
    for spec in RECORDS.values():
        if spec.name in collection.frames and spec.name not in REACHED_BACK:
            mine[spec.name] = _belonging(spec, collection[spec.name], object_id, mine)
    for name, through in REACHED_BACK.items():
        mine[name] = collection[name].join(mine[through], on="loan_id", how="semi")
    mine["setting"] = collection["setting"].filter(pl.col("name").is_in(SETTINGS))
    return mine


def _belonging(spec: TableSpec, frame: pl.DataFrame, object_id: str, mine: Mapping[str, pl.DataFrame]) -> pl.DataFrame:
    if spec.name == THING:
        return frame.filter(pl.col("object_id") == object_id)
    pointing = {points.record: c.name for c in spec.marked(Points) if (points := c.mark(Points))}
    if THING in pointing:
        return frame.filter(pl.col(pointing[THING]) == object_id)
    through = next((r for r in pointing if r in mine and _leads_home(RECORDS[r])), None)
    if through is None:
        return frame.clear()
    (key, *_) = RECORDS[through].key
    return frame.join(mine[through], left_on=pointing[through], right_on=key, how="semi")


def _leads_home(spec: TableSpec) -> bool:
    return spec.name == THING or THING in _points_at(spec)


def _told(spec: TableSpec, frame: pl.DataFrame) -> pl.DataFrame:
    private = {c.name for c in spec.marked(Private)}
    return frame.drop([n for n in frame.columns if n in private or n in NEVER or _derived_of(n, private)])


def _derived_of(name: str, private: set[str]) -> bool:
    return any(name in (f"{p}_earliest", f"{p}_latest") for p in private)


def private_values(collection: Collection, mine: Mapping[str, pl.DataFrame]) -> frozenset[str]:
    """Everything private about an object as text: its own, what it points at, and what is private to the house."""
    seen: set[tuple[str, str]] = set()
    found: set[str] = set()
    for name, frame in mine.items():
        found.update(_values(RECORDS[name], frame), _pointed_at(collection, RECORDS[name], frame, seen))
    for spec in RECORDS.values():
        if spec.name in collection.frames and spec.name != PLACE and _no_objects(spec):
            found.update(_values(spec, _of_places(spec, collection.frames[spec.name], seen)))
    return frozenset(found)


def _no_objects(spec: TableSpec) -> bool:
    """No object leads to the record: people, funds, rates, faults of places."""
    return not _leads_home(spec) and not any(_leads_home(RECORDS[r]) for r in _points_at(spec))


def _of_places(spec: TableSpec, frame: pl.DataFrame, seen: set[tuple[str, str]]) -> pl.DataFrame:
    """Rows about places the object was at, where the record is about places; else all."""
    at = next((c.name for c in spec.marked(Points) if (m := c.mark(Points)) and m.record == PLACE), None)
    return frame if at is None else frame.filter(pl.col(at).is_in([key for record, key in seen if record == PLACE]))


def _points_at(spec: TableSpec) -> tuple[str, ...]:
    return tuple(m.record for c in spec.marked(Points) if (m := c.mark(Points)))


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
        points = column.mark(Points)
        for key in frame[column.name].drop_nulls().unique() if points and column.name in frame.columns else ():
            if points and (points.record, key) not in seen:
                seen.add((points.record, key))
                target = RECORDS[points.record]
                rows = collection.frames[points.record].filter(pl.col(target.key[0]) == key)
                yield from _values(target, rows)
                yield from _pointed_at(collection, target, rows, seen)
