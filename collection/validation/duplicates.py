"""Rows against each other and against what the register holds: repeated, the same, spelt otherwise, changed here."""

from collections.abc import Sequence
from dataclasses import dataclass

import polars as pl

from collection.snapshot import SYSTEM_COLUMNS
from collection.validation.problems import FROM, ROW, no_problems, problems_of
from collection.validation.spelling import normal
from schemas.fields import ForeignKey
from schemas.tables import TableSpec

HELD, SPELLING = "held_", "spelt alike"
CHANGES = pl.Schema({ROW: pl.Int64()} | {n: pl.String() for n in ("column", "before", "after")})


@dataclass(frozen=True)
class Compared:
    """`rows` to write (with `row_version` of the rows that are known); `unchanged` identities; `problems` (`UNWORDED`).

    `changes`: cells of known rows that differ, schema `CHANGES`; `before` is empty where nothing was held.
    """

    rows: pl.DataFrame
    unchanged: pl.Series
    problems: pl.DataFrame
    changes: pl.DataFrame


def compare(rows: pl.DataFrame, spec: TableSpec, held: pl.DataFrame) -> Compared:
    """Sort typed rows against each other, in the order given, and against the rows the register holds."""
    first, again, problems = _repeated(rows, spec)
    columns = [c for c in rows.columns if c not in (ROW, FROM, *spec.key, *SYSTEM_COLUMNS)]
    known, new = _known_and_new(first, spec, held, columns)
    differs = [_differs(c) for c in columns]
    is_changed = known.select(pl.any_horizontal(*differs, pl.lit(value=False)).alias("differ"))["differ"]
    changed = known.filter(is_changed)
    problems += [_spelt_otherwise(new, rows, spec, held), _changed_here(changed, spec, columns)]
    to_write = pl.concat([new, changed.select(new.columns)]) if changed.height else new
    unchanged = pl.concat([known.filter(~is_changed)[ROW], again])
    return Compared(
        to_write, unchanged, pl.concat(problems), _changes(changed, [c.name for c in spec.columns if c.name in columns])
    )


def asked_again(rows: pl.DataFrame, unchanged: pl.Series, again: pl.Series | None) -> pl.DataFrame:
    """Of the rows that are unchanged, those that are asked about all the same."""
    if again is None or again.is_empty():
        return rows.clear()
    return rows.filter(pl.col(ROW).is_in(again.implode()), pl.col(ROW).is_in(unchanged.implode()))


def _differs(column: str) -> pl.Expr:
    """The row says something, and something else than what is held: an empty cell empties nothing."""
    return pl.col(column).is_not_null() & pl.col(column).ne_missing(pl.col(f"{HELD}{column}"))


def _own_numbers(spec: TableSpec) -> list[str]:
    """Only a record's own number is compared by spelling; what points elsewhere is looked up there."""
    return [k for k in spec.key if spec.column(k).mark(ForeignKey) is None and spec.column(k).dtype == pl.String]


def _known_and_new(
    rows: pl.DataFrame, spec: TableSpec, held: pl.DataFrame, columns: list[str]
) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Rows whose number is held, with the held values; and the rest, without a version."""
    new = rows if held.is_empty() else rows.join(held, on=spec.key, how="anti", maintain_order="left")
    theirs = held.select(*spec.key, "row_version", "set_here", *(pl.col(c).alias(f"{HELD}{c}") for c in columns))
    known = (
        rows.join(theirs, on=spec.key, maintain_order="left")
        if new.height < rows.height
        else rows.clear().join(theirs, on=spec.key)
    )
    return known, new.with_columns(row_version=pl.lit(None, pl.Int64))


def _repeated(rows: pl.DataFrame, spec: TableSpec) -> tuple[pl.DataFrame, pl.Series, list[pl.DataFrame]]:
    """First rows of each number; identities that repeat one word for word; problems of those that do not."""
    if _all_differ(rows, spec.key[:1]) or _all_differ(rows, spec.key):
        return rows, pl.Series(ROW, [], pl.Int64), [no_problems()]
    key = pl.struct(spec.key) if len(spec.key) > 1 else pl.col(spec.key)
    is_first = rows.select(key.is_first_distinct().alias("first"))["first"]
    first, later = rows.filter(is_first), rows.filter(~is_first)
    content = [c for c in rows.columns if c not in (ROW, FROM, *SYSTEM_COLUMNS)]
    flat = [pl.col(c).list.join("\n") if isinstance(rows.schema[c], pl.List) else pl.col(c) for c in content]
    same = later.select(ROW, *flat).join(first.select(flat), on=content, how="semi", nulls_equal=True)
    other = later.join(same.select(ROW), on=ROW, how="anti", maintain_order="left")
    own = other.filter(pl.col(ROW) >= 0)  # a row that only follows from another one gives way without a word
    return first, same[ROW], [problems_of(own, "number_repeated", spec.key[0], value=written_key(spec))]


def _all_differ(rows: pl.DataFrame, columns: Sequence[str]) -> bool:
    """No two rows are alike in these columns. Alike rows have one hash, and numbers are compared sooner than texts.

    Two rows that differ may by chance have one hash too: False says nothing.
    """
    return rows.select(columns).hash_rows().n_unique() == rows.height


def written_key(spec: TableSpec) -> pl.Expr:
    """The number of a row as people read it."""
    if len(spec.key) == 1 and spec.column(spec.key[0]).dtype == pl.String:
        return pl.col(spec.key[0])
    return pl.concat_str([pl.col(k).cast(pl.String) for k in spec.key], separator=" / ", ignore_nulls=True)


def _spelt(rows: pl.DataFrame, spec: TableSpec) -> pl.DataFrame:
    """Rows with their numbers as compared."""
    own = _own_numbers(spec)
    parts = [normal(k, rows[k]) if k in own else pl.col(k).cast(pl.String) for k in spec.key]
    if len(parts) == 1:
        return rows.with_columns(parts[0].alias(SPELLING))
    return rows.with_columns(pl.concat_str(parts, separator="\n", ignore_nulls=True).alias(SPELLING))


def _spelt_otherwise(new: pl.DataFrame, rows: pl.DataFrame, spec: TableSpec, held: pl.DataFrame) -> pl.DataFrame:
    """New numbers that differ from a held one, or from one above, only in case, spaces or form of letters."""
    own, keys = _own_numbers(spec), [new.select(spec.key), held.select(spec.key)]
    pointing = [k for k in spec.key if k not in own]  # compared as they are
    if new.is_empty() or not own or (pointing and _all_differ(pl.concat(keys), pointing)):
        return no_problems()
    mine = _spelt(new.select(ROW, *spec.key), spec)
    theirs = _spelt(held.select(pl.lit(0, pl.Int64).alias(ROW), *spec.key), spec)
    if _all_differ(pl.concat([mine.select(SPELLING), theirs.select(SPELLING)]), [SPELLING]):
        return no_problems()
    if new.height < rows.height:  # numbers of this delivery that are held already
        theirs = pl.concat([theirs, _spelt(rows.select(ROW, *spec.key).join(new, on=ROW, how="anti"), spec)])
    alike = pl.col(SPELLING).is_in(theirs[SPELLING].implode()) | pl.col(SPELLING).is_duplicated()
    suspect = mine.filter(alike)
    if suspect.is_empty():
        return no_problems()
    earlier = pl.concat([theirs.filter(pl.col(SPELLING).is_in(suspect[SPELLING].implode())), suspect])
    known = earlier.unique(SPELLING, keep="first", maintain_order=True)
    known = known.select(SPELLING, expected=written_key(spec))
    wrong = suspect.join(known, on=SPELLING, maintain_order="left").filter(pl.col("expected") != written_key(spec))
    listed = problems_of(wrong, "number_differs_in_case", spec.key[0], value=written_key(spec))
    return listed.with_columns(wrong["expected"])


def _changed_here(both: pl.DataFrame, spec: TableSpec, columns: list[str]) -> pl.DataFrame:
    """The held value was written by a person here, and the row says something else."""
    listed = [no_problems()]
    for column in columns if not both.is_empty() else []:
        stale = both.filter(pl.col("set_here").list.contains(column) & _differs(column))
        theirs = stale.select(as_text(f"{HELD}{column}"))[f"{HELD}{column}"]
        listed.append(
            problems_of(stale, "changed_here_since", column, value=as_text(column)).with_columns(
                expected=pl.format("{} (as it stands here)", theirs.fill_null("nothing"))
            )
        )
    return pl.concat(listed)


def _changes(both: pl.DataFrame, columns: list[str]) -> pl.DataFrame:
    """Each cell that differs, before and after, by row."""
    pieces = [pl.DataFrame(schema=CHANGES)]
    for column in columns if not both.is_empty() else []:
        before, after = as_text(f"{HELD}{column}").alias("before"), as_text(column).alias("after")
        pieces.append(both.filter(_differs(column)).select(ROW, before, after, column=pl.lit(column)))
    return pl.concat([piece.select(CHANGES.names()) for piece in pieces])


def as_text(column: str) -> pl.Expr:
    """Any value as JSON text, so that a list or a date reads the same on both sides; null where there is none."""
    text = pl.struct(pl.col(column).alias("v")).struct.json_encode().str.slice(5).str.head(-1)
    return pl.when(pl.col(column).is_not_null()).then(text).alias(column)
