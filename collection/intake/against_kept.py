"""Rows against each other and against what the register holds: repeated, the same, spelt otherwise, changed here."""

from dataclasses import dataclass

import polars as pl

from collection.intake.problems import found, nothing
from collection.intake.sheet import ROW
from schemas.fields import Points
from schemas.tables import TableSpec

SPELLING, KEPT = "spelling_", "kept_"


@dataclass(frozen=True)
class Compared:
    """`rows` to write (with `row_version` of the rows that are known); `unchanged` source rows; `problems` (`FOUND`)."""

    rows: pl.DataFrame
    unchanged: pl.Series
    problems: pl.DataFrame


def compare(rows: pl.DataFrame, spec: TableSpec, kept: pl.DataFrame) -> Compared:
    """Sort typed rows (`source_row` and columns) against each other and the kept rows of the record."""
    first, again, problems = _repeated(rows, spec)
    kept_columns = [c for c in rows.columns if c != ROW and c not in spec.key]
    both = _beside(first, spec, kept, kept_columns)
    differs = {c: pl.col(c).is_not_null() & pl.col(c).ne_missing(pl.col(f"{KEPT}{c}")) for c in kept_columns}
    differ = both.select(pl.any_horizontal(*differs.values(), pl.lit(value=False)).alias("differ"))["differ"]
    known = both["row_version"].is_not_null()
    problems += [_spelt_otherwise(both.filter(~known), spec, kept), _changed_here(both.filter(known & differ), spec, kept_columns)]
    unchanged = pl.concat([both.filter(known & ~differ)[ROW], again])
    return Compared(
        both.filter(~known | differ).select(ROW, *spec.key, *kept_columns, "row_version"), unchanged, pl.concat(problems)
    )


def normal(column: str) -> pl.Expr:
    """A number as compared: NFKC, trimmed, spaces collapsed, case folded."""
    text = pl.col(column).cast(pl.String).str.normalize("NFKC").str.strip_chars()
    return text.str.replace_all(r"\s+", " ").str.to_lowercase()


def _repeated(rows: pl.DataFrame, spec: TableSpec) -> tuple[pl.DataFrame, pl.Series, list[pl.DataFrame]]:
    """First rows of each number; source rows that repeat one word for word; problems of those that do not."""
    if not rows.select(pl.struct(spec.key).is_duplicated().any()).item():
        return rows, pl.Series(ROW, [], pl.Int64), [nothing()]
    is_first = pl.struct(spec.key).is_first_distinct()
    first, later = rows.filter(is_first), rows.filter(~is_first)
    columns = [c for c in rows.columns if c != ROW]
    same = later.join(first.select(columns), on=columns, how="semi", nulls_equal=True)
    other = later.join(same.select(ROW), on=ROW, how="anti")
    number = pl.concat_str([pl.col(k).cast(pl.String) for k in spec.key], separator=" / ", ignore_nulls=True)
    return first, same[ROW], [found(other, "number_repeated", spec.key[0], value=number)]


def _beside(first: pl.DataFrame, spec: TableSpec, kept: pl.DataFrame, columns: list[str]) -> pl.DataFrame:
    theirs = kept.select(*spec.key, "row_version", "set_here", *(pl.col(c).alias(f"{KEPT}{c}") for c in columns))
    return first.join(theirs, on=spec.key, how="left", maintain_order="left")


def _spelt_otherwise(new: pl.DataFrame, spec: TableSpec, kept: pl.DataFrame) -> pl.DataFrame:
    """Only a record's own number is compared so; what points elsewhere is looked up there."""
    own = [k for k in spec.key if spec.column(k).mark(Points) is None and spec.column(k).dtype == pl.String]
    if not own or new.is_empty():
        return nothing()
    ours = new.with_columns(normal(k).alias(f"{SPELLING}{k}") for k in own)
    on = [f"{SPELLING}{k}" for k in own] + [k for k in spec.key if k not in own]
    spelt = pl.concat_str([pl.col(k) for k in own], separator=" / ", ignore_nulls=True)
    theirs = kept.with_columns(normal(k).alias(f"{SPELLING}{k}") for k in own).select(*on, spelt.alias("known"))
    earlier = ours.sort(ROW).unique(on, keep="first").select(*on, spelt.alias("known_above"), pl.col(ROW).alias("above"))
    looked_up = ours.join(theirs.unique(on), on=on, how="left", nulls_equal=True).join(
        earlier, on=on, how="left", nulls_equal=True
    )
    known = pl.coalesce("known", pl.when(pl.col("above") < pl.col(ROW)).then("known_above"))
    wrong = looked_up.with_columns(expected=known).filter(pl.col("expected").is_not_null())
    return found(wrong, "number_differs_in_case", own[0], value=pl.col(own[0])).with_columns(expected=wrong["expected"])


def _changed_here(both: pl.DataFrame, spec: TableSpec, columns: list[str]) -> pl.DataFrame:
    """The kept value was written by a person here, and the file says something else."""
    listed = []
    for column in columns if not both.is_empty() else []:
        stale = both.filter(
            pl.col("set_here").list.contains(column)
            & pl.col(column).is_not_null()
            & pl.col(column).ne_missing(pl.col(f"{KEPT}{column}"))
        )
        theirs = stale.select(_as_text(f"{KEPT}{column}"))[f"{KEPT}{column}"]
        listed.append(
            found(stale, "changed_here_since", column, value=_as_text(column)).with_columns(
                expected=pl.format("{} (as it stands here)", theirs.fill_null("nothing"))
            )
        )
    return pl.concat([nothing(), *listed])


def _as_text(column: str) -> pl.Expr:
    return pl.struct(pl.col(column).alias("v")).struct.json_encode().str.slice(5).str.head(-1).alias(column)
