"""The rows of a file that are readings, and the lines between them: heads of further blocks, marks, footers."""

import json

import polars as pl

from collection.intake.files.sheet import SOURCE_ROW
from collection.intake.loggers.layout import Layout, TimeColumns, line_names, named_in
from collection.intake.loggers.times import IS_DATE, IS_MOMENT, is_epoch_or_serial

BLOCK, BROKEN = "_block", "_broken"
DIGIT, STRAY_QUOTE = r"\d", "stray_quote"


def readings_of(cells: pl.DataFrame, faults: pl.DataFrame, its: Layout) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Rows of readings with the logger that the line above them names (`_block`), whether a row was not read as
    cells (`_broken`), and the faults of those rows.

    A line without a time and without a number under a heading of values is no reading; any other row is one, so that
    what cannot be read of it is said.
    """
    body = cells.slice(its.first)
    clocks = list(dict.fromkeys(m.clock for m in its.measured)) or [TimeColumns(moment=0)]
    timed = pl.any_horizontal(_is_time(clock) for clock in clocks)
    valued = pl.any_horizontal(pl.col(str(m.column)).str.contains(DIGIT).fill_null(value=False) for m in its.measured)
    marked = body.with_columns(_timed=timed.fill_null(value=False), _valued=valued)
    others = marked.filter(~pl.col("_timed"))
    names, lines = _between(others, faults, [n for n in cells.columns if n != SOURCE_ROW])
    first = named_in(its.head, "logger") or None
    blocks = pl.DataFrame(names, schema={SOURCE_ROW: pl.Int64, BLOCK: pl.String}, orient="row")
    rows = marked.join(blocks, on=SOURCE_ROW, how="left", maintain_order="left")
    rows = rows.with_columns(pl.col(BLOCK).forward_fill().fill_null(first) if first else pl.col(BLOCK).forward_fill())
    whole = faults.filter(pl.col("column").is_null())[SOURCE_ROW].unique()
    rows = rows.with_columns(pl.col(SOURCE_ROW).is_in(whole.implode()).alias(BROKEN))
    rows = rows.filter(~pl.col(SOURCE_ROW).is_in(lines)).drop("_timed", "_valued")
    return rows, faults.join(rows, on=SOURCE_ROW, how="semi")


def _between(others: pl.DataFrame, faults: pl.DataFrame, columns: list[str]) -> tuple[list[tuple[int, str]], list[int]]:
    """Of rows without a time, those that name a logger with its name, and those that are no reading."""
    raw = dict(faults.drop_nulls("raw").select(SOURCE_ROW, "raw").iter_rows())
    broken = set(faults.filter(pl.col("rule") == STRAY_QUOTE)[SOURCE_ROW])
    names, lines = [], []
    for row in others.iter_rows(named=True):
        at = row[SOURCE_ROW]
        name = line_names(json.loads(raw[at]) if at in raw else [row[n] or "" for n in columns])
        names += [(at, name)] if name else []
        lines += [at] if name or not (row["_valued"] or at in broken) else []
    return names, lines


def _is_time(clock: TimeColumns) -> pl.Expr:
    cell = pl.col(str(clock.first))
    if clock.numeric:
        return cell.map_elements(lambda c: bool(is_epoch_or_serial(c)), return_dtype=pl.Boolean)
    pattern = (IS_DATE if clock.date is not None else IS_MOMENT).pattern
    return cell.str.contains(pattern.replace(r"[^\W\d_]", r"\p{L}"))
