"""Rows of records, whatever the way in, against their declaration, each other and the register. Pure.

A file and a form go through the same function; neither sheets nor mappings are known here.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

import polars as pl

from collection.snapshot import Collection
from collection.validation.cells import typed
from collection.validation.duplicates import CHANGES, asked_again, compare, written_key
from collection.validation.problems import (
    FROM,
    OUTSIDE_LEVEL,
    PROBLEMS,
    REFUSE,
    ROW,
    cells_left_empty,
    no_problems,
    rows_at,
    worded,
)
from collection.validation.rules.cross_record import RELATIONS, broken_references
from collection.validation.rules.deferred import DEFERRED_RECORD, deferred_problems
from collection.validation.rules.places import MOVE, OBJECT, moved_objects, within_itself
from collection.validation.rules.row import broken_row_rules
from collection.validation.session import Session
from schemas.records.catalogue import WHOLE, WHOLE_COLUMN
from schemas.tables import RECORDS, TableSpec, parents_first

NEW, CHANGED, UNCHANGED, OUTSIDE, REFUSED = "new", "changed", "unchanged", "outside", "refused"
OUTCOMES = pl.Schema({"record": pl.String(), ROW: pl.Int64(), "key": pl.String(), "outcome": pl.String()})
KEYS = pl.Schema({ROW: pl.Int64(), "key": pl.String()})
CHANGED_CELLS = pl.Schema({"record": pl.String(), "key": pl.String(), **CHANGES})


@dataclass(frozen=True)
class Incoming:
    """Typed rows of one record that are good by themselves, and what was wrong so far (schema `UNWORDED`).

    `keys`: identity and number of every row, of those set aside too. Rows that follow from another row (`derived`) have
    its identity in `from_row`, and none of their own yet.
    """

    rows: pl.DataFrame
    problems: pl.DataFrame = field(default_factory=no_problems)
    keys: pl.DataFrame = field(default_factory=lambda: pl.DataFrame(schema=KEYS))
    derived: bool = False


# What follows from rows of a record, accepted and unchanged ones: rows of others that come later, by record.
Follows = Callable[[str, pl.DataFrame, pl.DataFrame], Mapping[str, pl.DataFrame]]


@dataclass(frozen=True)
class ValidationResult:
    """What came of a delivery, rows named by record and identity.

    `accepted`: rows to write by record, typed, with `row`, `from_row` and `row_version` (null: new); `outcomes`: each
    row once, schema `OUTCOMES`; `problems`: schema `PROBLEMS`; `changes`: cells of held rows that become something
    else, schema `CHANGED_CELLS`.
    """

    accepted: Mapping[str, pl.DataFrame]
    outcomes: pl.DataFrame
    problems: pl.DataFrame
    changes: pl.DataFrame

    @property
    def refused(self) -> pl.DataFrame:
        """Rows that were not accepted, schema `OUTCOMES`."""
        return self.outcomes.filter(pl.col("outcome").is_in([REFUSED, OUTSIDE]))


def validate(
    rows: Mapping[str, pl.DataFrame], collection: Collection, *, today: date, follows: Follows | None = None
) -> ValidationResult:
    """Judge rows by record: as text or typed, each with its identity in `row`. Never raises for a row."""
    incoming = {}
    for name, cells in rows.items():
        read = typed(cells, RECORDS[name])
        incoming[name] = [ready(read.rows, RECORDS[name], read.problems, today)]
    return validate_incoming(incoming, collection, today=today, follows=follows)


def ready(rows: pl.DataFrame, spec: TableSpec, problems: pl.DataFrame, today: date) -> Incoming:
    """Typed rows after the rules a row can break by itself: cells that are wrong and may be empty are empty."""
    unreadable = problems.filter(pl.col("column").is_null()).select(ROW)  # of such a row the rest says nothing
    if not unreadable.is_empty():
        others = problems.join(unreadable, on=ROW, how="anti", maintain_order="left")
        problems = pl.concat([problems.filter(pl.col("column").is_null()), others])
    lacking = [pl.lit(None, spec.schema()[k]).alias(k) for k in spec.key if k not in rows.columns]
    rows = _with_whole(rows.with_columns(lacking), spec)
    broken = broken_row_rules(rows, spec, problems, today)
    keys = rows.select(ROW, key=written_key(spec).cast(pl.String))
    problems = pl.concat([problems, broken])
    rows = cells_left_empty(rows, broken, spec)
    return Incoming(_without(rows, rows_at(problems, spec, REFUSE, OUTSIDE_LEVEL)), problems, keys)


def validate_incoming(
    incoming: Mapping[str, Sequence[Incoming]],
    collection: Collection,
    *,
    today: date,
    follows: Follows | None = None,
    again: pl.Series | None = None,
) -> ValidationResult:
    """Judge typed rows, those that others point to first, and what follows from them (`again`: from unchanged ones)."""
    waiting = {name: list(parts) for name, parts in incoming.items()}
    del incoming  # a large table is held once: each part is let go when its rows have been judged
    session, done = Session(collection), []
    for name in parents_first():
        if not waiting.get(name):
            continue
        judged = _judge(RECORDS[name], waiting.pop(name), session, again)
        done.append(judged)
        more = follows(name, judged.accepted, judged.unchanged) if follows else {}
        more = {**_whole_parts(name, judged.accepted), **more}
        for other, rows in more.items():
            waiting.setdefault(other, []).append(Incoming(rows, derived=True))
    return _result(session, done, today)


@dataclass(frozen=True)
class _Judged:
    spec: TableSpec
    accepted: pl.DataFrame
    unchanged: pl.DataFrame  # those rows, as they were brought, that are asked about all the same
    outcomes: pl.DataFrame
    problems: pl.DataFrame  # PROBLEMS
    changes: pl.DataFrame


def _judge(spec: TableSpec, parts: list[Incoming], session: Session, again: pl.Series | None) -> _Judged:
    problems = [pl.concat([no_problems(), *(p.problems for p in parts)])]
    outside = _outside(problems[0], spec)
    keys = pl.concat([p.keys for p in parts])
    rows = _joined(spec, parts)
    del parts
    compared = compare(rows, spec, session.held(spec))
    unchanged = asked_again(rows, compared.unchanged, again)
    problems.append(compared.problems)
    rows = _related(_without(compared.rows, rows_at(compared.problems, spec, REFUSE)), spec, session, problems)
    session.accepted[spec.name] = rows
    outcomes = _outcomes(keys, rows, compared.unchanged, outside, spec)
    if len(spec.key) == 1:
        session.refused[spec.name] = outcomes.filter(pl.col("outcome") == REFUSED)["key"]
    listed = worded(pl.concat(problems).filter(pl.col(ROW) >= 0), keys, spec)
    changes = compared.changes.join(rows.select(ROW, key=written_key(spec).cast(pl.String)), on=ROW)
    changes = changes.select(record=pl.lit(spec.name), key="key", **{n: n for n in CHANGES})
    return _Judged(spec, rows, unchanged, outcomes, listed, changes)


def _joined(spec: TableSpec, parts: list[Incoming]) -> pl.DataFrame:
    """The rows of a record in one frame, own rows before those that follow from others."""
    frames, derived = [], 0
    for part in sorted(parts, key=lambda p: p.derived):
        rows = part.rows
        if part.derived:
            derived += rows.height
            rows = rows.with_columns((-derived + pl.int_range(pl.len(), dtype=pl.Int64)).alias(ROW))
        frames.append(_with_whole(rows, spec))
    whole = frames[0] if len(frames) == 1 else pl.concat(frames, how="diagonal_relaxed")
    lacking = [pl.lit(None, pl.Int64).alias(FROM)] if FROM not in whole.columns else []
    return whole.with_columns(lacking)


def _with_whole(rows: pl.DataFrame, spec: TableSpec) -> pl.DataFrame:
    """A row that names no part means the whole object; a part's own row must name it."""
    names_parts = any(c.name == WHOLE_COLUMN and c.required for c in spec.columns)
    if not names_parts or spec.name == "part":
        return rows
    part = pl.col(WHOLE_COLUMN) if WHOLE_COLUMN in rows.columns else pl.lit(None, pl.String)
    return rows.with_columns(part.fill_null(WHOLE).alias(WHOLE_COLUMN))


def _whole_parts(record: str, accepted: pl.DataFrame) -> Mapping[str, pl.DataFrame]:
    """Every object has at least one part."""
    if record != OBJECT:
        return {}
    new = accepted.filter(pl.col("row_version").is_null())
    return {"part": new.select("object_id", pl.col(ROW).alias(FROM), part=pl.lit(WHOLE))} if new.height else {}


def _related(rows: pl.DataFrame, spec: TableSpec, session: Session, problems: list[pl.DataFrame]) -> pl.DataFrame:
    """References first, until no row points to a refused one; then the rules over several records."""
    circle = within_itself(rows, spec, session)
    refused = {**session.refused}
    problems.append(circle)
    while True:
        gone = rows.filter(pl.col(ROW).is_in(rows_at(problems[-1], spec, REFUSE).implode()))
        rows = _without(rows, gone[ROW])
        if len(spec.key) == 1 and gone.height:
            known = refused.get(spec.name, gone[spec.key[0]].clear().cast(pl.String))
            refused[spec.name] = pl.concat([known, gone[spec.key[0]].cast(pl.String)])
        broken = broken_references(rows, spec, session.numbers, refused)
        if broken.is_empty():
            break
        problems.append(broken)
    trial = session.with_rows(spec.name, rows)
    own = rows.filter(pl.col(ROW) >= 0)  # a row that only follows from another one breaks no rule by itself
    wrong = [rule(own, trial) for rule in RELATIONS.get(spec.name, ()) if not own.is_empty()]
    problems += wrong
    return _without(rows, rows_at(pl.concat([no_problems(), *wrong]), spec, REFUSE))


def _outside(problems: pl.DataFrame, spec: TableSpec) -> pl.Series:
    """Rows that do not belong in this register; a row that is refused as well is refused."""
    refused = rows_at(problems, spec, REFUSE)
    outside = rows_at(problems, spec, OUTSIDE_LEVEL)
    return outside.filter(~outside.is_in(refused.implode()))


def _outcomes(
    keys: pl.DataFrame, rows: pl.DataFrame, unchanged: pl.Series, outside: pl.Series, spec: TableSpec
) -> pl.DataFrame:
    new = rows.filter(pl.col("row_version").is_null())[ROW]
    changed = rows.filter(pl.col("row_version").is_not_null())[ROW]
    of = {NEW: new, CHANGED: changed, UNCHANGED: unchanged, OUTSIDE: outside}
    each = (pl.when(pl.col(ROW).is_in(which.implode())).then(pl.lit(name)) for name, which in of.items())
    outcome = pl.coalesce(*each, pl.lit(REFUSED))
    return keys.with_columns(outcome=outcome, record=pl.lit(spec.name)).select(OUTCOMES.names())


def _result(session: Session, done: Sequence[_Judged], today: date) -> ValidationResult:
    problems = [pl.DataFrame(schema=PROBLEMS), *(j.problems for j in done)]
    for judged in (j for j in done if j.spec.name == DEFERRED_RECORD):
        own = judged.accepted.filter(pl.col(ROW) >= 0)
        problems.append(worded(deferred_problems(own, session), own.select(ROW, key="check_id"), judged.spec))
    changes = [j.changes for j in done]
    if moved := moved_objects(session, today):
        session.accepted[OBJECT] = moved.objects
        keys = session.accepted[MOVE].select(ROW, key=written_key(RECORDS[MOVE]))
        problems.append(worded(moved.notes, keys, RECORDS[MOVE]))
        changes.append(moved.changes.with_columns(record=pl.lit(OBJECT)))
    accepted = {name: rows for name, rows in session.accepted.items() if not rows.is_empty()}
    return ValidationResult(
        accepted,
        pl.concat([pl.DataFrame(schema=OUTCOMES), *(j.outcomes for j in done)]),
        pl.concat(problems),
        pl.concat([pl.DataFrame(schema=CHANGED_CELLS), *(c.select(CHANGED_CELLS.names()) for c in changes)]),
    )


def _without(rows: pl.DataFrame, identities: pl.Series) -> pl.DataFrame:
    return rows if identities.is_empty() else rows.filter(~pl.col(ROW).is_in(identities.implode()))
