"""Rows against each other and against what the register holds: repeated, the same, spelt otherwise, changed here."""

from dataclasses import dataclass

import polars as pl

from collection.intake.files.sheet import ROW
from collection.validation.problems import found, nothing
from schemas.fields import ForeignKey
from schemas.tables import TableSpec

KEPT, NUMBER, SPELLING, CONTENT = "kept_", "hash of number", "hash of spelling", "hash of content"


@dataclass(frozen=True)
class Compared:
    """`rows` to write (with `row_version` of the rows that are known); `unchanged` source rows; `problems` (`FOUND`).

    `seen`: numbers of the rows met, with the hash of their content, for the next part of the same sheet.
    """

    rows: pl.DataFrame
    unchanged: pl.Series
    problems: pl.DataFrame
    seen: pl.DataFrame


def compare(rows: pl.DataFrame, spec: TableSpec, kept: pl.DataFrame, seen: pl.DataFrame | None = None) -> Compared:
    """Sort typed rows (`source_row` and columns) against each other, the rows `seen` above, and the kept rows."""
    met = _met(rows, spec)
    above = met.clear() if seen is None else seen
    first, again, problems = _repeated(rows, met, spec, above)
    columns = [c for c in rows.columns if c != ROW and c not in spec.key]
    known, new = _known_and_new(first, spec, kept, columns)
    differs = [pl.col(c).is_not_null() & pl.col(c).ne_missing(pl.col(f"{KEPT}{c}")) for c in columns]
    differ = known.select(pl.any_horizontal(*differs, pl.lit(value=False)).alias("differ"))["differ"]
    changed = known.filter(differ)
    problems += [
        _spelt_otherwise(_met_of(new, rows, met, spec), spec, pl.concat([above, _met(kept, spec)])),
        _changed_here(changed, spec, columns),
    ]
    to_write = pl.concat([new, changed.select(new.columns)]) if changed.height else new
    return Compared(to_write, pl.concat([known.filter(~differ)[ROW], again]), pl.concat(problems), met)


def _own_numbers(spec: TableSpec) -> list[str]:
    """Only a record's own number is compared by spelling; what points elsewhere is looked up there."""
    return [k for k in spec.key if spec.column(k).mark(ForeignKey) is None and spec.column(k).dtype == pl.String]


def _met(rows: pl.DataFrame, spec: TableSpec) -> pl.DataFrame:
    """Numbers of rows, and three hashes: of the number, of its spelling, of the whole content."""
    own = _own_numbers(spec)
    spelt = rows.select(normal(k, rows[k]) if k in own else pl.col(k) for k in spec.key)
    return rows.select(spec.key).with_columns(
        pl.Series(NUMBER, rows.select(spec.key).hash_rows()),
        pl.Series(SPELLING, spelt.hash_rows()),
        pl.Series(CONTENT, rows.drop(ROW, strict=False).hash_rows()),
    )


def _known_and_new(
    rows: pl.DataFrame, spec: TableSpec, kept: pl.DataFrame, columns: list[str]
) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Rows whose number is kept, beside the kept values; and the rest, without a version."""
    new = rows if kept.is_empty() else rows.join(kept, on=spec.key, how="anti", maintain_order="left")
    theirs = kept.select(*spec.key, "row_version", "set_here", *(pl.col(c).alias(f"{KEPT}{c}") for c in columns))
    known = (
        rows.join(theirs, on=spec.key, maintain_order="left")
        if new.height < rows.height
        else rows.clear().join(theirs, on=spec.key)
    )
    return known, new.with_columns(row_version=pl.lit(None, pl.Int64))


def normal(column: str, values: pl.Series | None = None) -> pl.Expr:
    """A number as compared: NFKC, trimmed, spaces collapsed, case folded. Letters of ASCII need no NFKC."""
    text = pl.col(column).cast(pl.String)
    if values is None or values.str.len_bytes().sum() != values.str.len_chars().sum():
        text = text.str.normalize("NFKC")
    return text.str.strip_chars().str.replace_all(r"\s+", " ").str.to_lowercase()


def _repeated(
    rows: pl.DataFrame, met: pl.DataFrame, spec: TableSpec, above: pl.DataFrame
) -> tuple[pl.DataFrame, pl.Series, list[pl.DataFrame]]:
    """First rows of each number; source rows that repeat one word for word; problems of those that do not."""
    is_first = met[NUMBER].is_first_distinct() & ~met[NUMBER].is_in(above[NUMBER].implode())
    if is_first.all():
        return rows, pl.Series(ROW, [], pl.Int64), [nothing()]
    later = rows.filter(~is_first).with_columns(met.filter(~is_first)[CONTENT])
    before = pl.concat([above, met.filter(is_first)])
    same = later.join(before, on=[*spec.key, CONTENT], how="semi", nulls_equal=True)
    other = later.join(same.select(ROW), on=ROW, how="anti")
    return rows.filter(is_first), same[ROW], [found(other, "number_repeated", spec.key[0], value=_written(spec))]


def _written(spec: TableSpec) -> pl.Expr:
    return pl.concat_str([pl.col(k).cast(pl.String) for k in spec.key], separator=" / ", ignore_nulls=True)


def _met_of(new: pl.DataFrame, rows: pl.DataFrame, met: pl.DataFrame, spec: TableSpec) -> pl.DataFrame:
    """Numbers and hashes of the new rows; where every row is new they are at hand."""
    known = met if new.height == rows.height else _met(new.select(ROW, *spec.key), spec)
    return known.with_columns(new[ROW])


def _spelt_otherwise(mine: pl.DataFrame, spec: TableSpec, known: pl.DataFrame) -> pl.DataFrame:
    """Numbers that differ from a known one, or from one above, only in case, spaces or form of letters."""
    if mine.is_empty() or not _own_numbers(spec):
        return nothing()
    suspect = mine.filter(pl.col(SPELLING).is_in(known[SPELLING].implode()) | pl.col(SPELLING).is_duplicated())
    if suspect.is_empty():
        return nothing()
    earlier = pl.concat([known.with_columns(pl.lit(0, pl.Int64).alias(ROW)).select(mine.columns), mine])
    first = earlier.sort(ROW).unique(SPELLING, keep="first").select(SPELLING, above=NUMBER, expected=_written(spec))
    wrong = suspect.join(first, on=SPELLING).filter(pl.col("above") != pl.col(NUMBER))
    return found(wrong, "number_differs_in_case", spec.key[0], value=_written(spec)).with_columns(wrong["expected"])


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
