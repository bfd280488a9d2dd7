"""Sorting incoming rows against those of the register: new, the same, changed, stale. Pure."""

from dataclasses import dataclass

import polars as pl

from collection.snapshot import SYSTEM_COLUMNS, stored_schema
from schemas.tables import TableSpec

WITHDRAWN = tuple(name for name in SYSTEM_COLUMNS if name.startswith("withdrawn"))
# Columns whose difference alone is no change: they say how a row came in, or count its changes.
BOOKKEEPING = tuple(name for name in SYSTEM_COLUMNS if name not in WITHDRAWN)
SEEN, THEIRS, DIFFERS = "seen_version", "held_", "differs_"


@dataclass(frozen=True)
class RowDiff:
    """`new` and `after` are whole rows; `before` are the rows that `after` replaces, in the same order."""

    new: pl.DataFrame
    before: pl.DataFrame
    after: pl.DataFrame
    same: int
    stale: pl.DataFrame  # key columns, column, yours, theirs


def diff_rows(spec: TableSpec, incoming: pl.DataFrame, held: pl.DataFrame, *, from_file: bool) -> RowDiff:
    """Compare rows by key.

    Parameters
    ----------
    incoming : key columns, any further columns, `row_version` where the writer knew the row.
    held : the rows of the register with those keys, schema `kept_schema(spec)`.
    """
    if held.is_empty():
        new = _new_rows(spec, incoming.lazy().select(_typed(spec, incoming)), from_file=from_file).collect()
        return RowDiff(new=new, before=held, after=held, same=0, stale=_stale_rows(spec, held))
    both = _side_by_side(spec, incoming, held, from_file=from_file).lazy()
    known = pl.col("row_version").is_not_null()
    differs = pl.any_horizontal(pl.col(f"^{DIFFERS}.*$"))
    stale = known & differs & pl.col(SEEN).ne_missing(pl.col("row_version"))
    changed = both.filter(known & differs & ~stale)
    new, before, after, same, old = pl.collect_all(
        [
            _new_rows(spec, both.filter(~known), from_file=from_file),
            _held_rows(spec, changed),
            _changed_rows(spec, changed, from_file=from_file),
            both.filter(known & ~differs).select(pl.len()),
            both.filter(stale),
        ]
    )
    return RowDiff(new=new, before=before, after=after, same=same.item(), stale=_stale_rows(spec, old))


def _side_by_side(spec: TableSpec, incoming: pl.DataFrame, held: pl.DataFrame, *, from_file: bool) -> pl.DataFrame:
    schema = stored_schema(spec)
    back = _come_back(incoming, held) if from_file else incoming
    given = _given(spec, back)
    seen = pl.col("row_version") if "row_version" in back.columns else pl.lit(None, pl.Int64)
    mine = back.lazy().select(*_typed(spec, back), seen.cast(pl.Int64).alias(SEEN))
    theirs = held.lazy().rename({n: f"{THEIRS}{n}" for n in schema if n not in (*spec.key, "row_version")})
    both = mine.join(theirs, on=spec.key, how="left", maintain_order="left")
    if from_file:  # an empty cell empties nothing
        filled = [n for n in given if n not in SYSTEM_COLUMNS]
        both = both.with_columns(pl.coalesce(n, f"{THEIRS}{n}").alias(n) for n in filled)
    compared = [n for n in given if n not in BOOKKEEPING]
    flags = {f"{DIFFERS}{n}": pl.col(n).ne_missing(pl.col(f"{THEIRS}{n}")) for n in compared}
    return both.with_columns(**(flags or {DIFFERS: pl.lit(value=False)})).collect()


def _typed(spec: TableSpec, incoming: pl.DataFrame) -> list[pl.Expr]:
    """The columns of a record that came in, typed; without the version that the writer knew."""
    schema = stored_schema(spec)
    return [*map(pl.col, spec.key), *(pl.col(n).cast(schema[n]) for n in _given(spec, incoming))]


def _given(spec: TableSpec, incoming: pl.DataFrame) -> list[str]:
    return [n for n in stored_schema(spec) if n in incoming.columns and n not in (*spec.key, "row_version")]


def _come_back(incoming: pl.DataFrame, held: pl.DataFrame) -> pl.DataFrame:
    """A row that was withdrawn and comes in again with a file counts again."""
    if held[WITHDRAWN[0]].null_count() == held.height:
        return incoming
    return incoming.with_columns(pl.lit(None).alias(n) for n in WITHDRAWN if n not in incoming.columns)


def _new_rows(spec: TableSpec, rows: pl.LazyFrame, *, from_file: bool) -> pl.LazyFrame:
    schema = stored_schema(spec)
    known = rows.collect_schema()
    filled = rows.with_columns(pl.lit(None, t).alias(n) for n, t in schema.items() if n not in known)
    named = [n for n in spec.schema() if n not in spec.key]
    here = [pl.when(pl.col(n).is_not_null()).then(pl.lit(n)) for n in named] if not from_file else []
    written = pl.concat_list(here).list.drop_nulls() if here else pl.lit([], pl.List(pl.String))
    return filled.with_columns(row_version=pl.lit(1, pl.Int64), set_here=written).select(schema.names())


def _held_rows(spec: TableSpec, rows: pl.LazyFrame) -> pl.LazyFrame:
    apart = (*spec.key, "row_version")
    return rows.select(n if n in apart else pl.col(f"{THEIRS}{n}").alias(n) for n in stored_schema(spec))


def _changed_rows(spec: TableSpec, rows: pl.LazyFrame, *, from_file: bool) -> pl.LazyFrame:
    known = rows.collect_schema().names()
    touched = [n.removeprefix(DIFFERS) for n in known if n.startswith(DIFFERS) and n != DIFFERS]
    names = [pl.when(pl.col(f"{DIFFERS}{n}")).then(pl.lit(n)) for n in touched if n not in SYSTEM_COLUMNS]
    here = pl.col(f"{THEIRS}set_here").fill_null([])
    if names:
        changed = pl.concat_list(names).list.drop_nulls()
        here = here.list.set_difference(changed) if from_file else here.list.set_union(changed)
    carried = [pl.col(f"{THEIRS}{n}").alias(n) for n in stored_schema(spec) if n not in known and n != "set_here"]
    return rows.with_columns(*carried, pl.col("row_version") + 1, set_here=here.list.sort()).select(
        stored_schema(spec).names()
    )


def _stale_rows(spec: TableSpec, rows: pl.DataFrame) -> pl.DataFrame:
    """One row for each column in which the two sides differ, both values as text."""
    keys = [pl.col(k) for k in spec.key]
    differing = [n for n in rows.columns if n.startswith(DIFFERS) and n != DIFFERS] if rows.height else []
    pieces = [
        rows.filter(f"{DIFFERS}{n}").select(
            *keys,
            pl.lit(n).alias("column"),
            _words(pl.col(n)).alias("yours"),
            _words(pl.col(f"{THEIRS}{n}")).alias("theirs"),
        )
        for n in (name.removeprefix(DIFFERS) for name in differing)
    ]
    empty = pl.DataFrame(
        schema={k: spec.schema()[k] for k in spec.key} | dict.fromkeys(("column", "yours", "theirs"), pl.String)
    )
    return pl.concat([empty, *pieces])


def _words(value: pl.Expr) -> pl.Expr:
    """Any value as JSON text, so that a list or a date reads the same on both sides."""
    return pl.struct(value.alias("v")).struct.json_encode().str.slice(5).str.head(-1)
