"""Marks that stand for the cell above: a sheet written by hand repeats nothing."""

from collections.abc import Mapping, Sequence

import polars as pl

from collection.intake.mapping.headings import signs


def with_cells_above(
    cells: pl.DataFrame, columns: Sequence[str], above: Mapping[str, str | None]
) -> tuple[pl.DataFrame, pl.DataFrame]:
    """The cells with every ditto mark of these text columns replaced by the cell above it, and where that was done.

    `above`: by column the last cell of the part of the sheet before, see `last_cells`.

    Returns
    -------
    cells : as given, in the same order. places : the columns of `cells` that are none of `columns`, with `heading` and
    `value`, what the mark was taken for. A mark with nothing above stays as it is.
    """
    marks = signs("ditto")
    places = []
    for heading in _may_hold(cells, columns, marks):
        is_mark = pl.col(heading).str.strip_chars().str.to_lowercase().is_in(marks).fill_null(value=False)
        before = pl.when(~is_mark).then(heading).forward_fill().fill_null(pl.lit(above.get(heading), pl.String))
        stands_for = pl.when(is_mark).then(pl.coalesce(before, heading)).otherwise(heading)
        filled = cells.with_columns(stands_for.alias(heading))
        done = filled.filter((filled[heading] != cells[heading]).fill_null(value=False))
        rest = [c for c in cells.columns if c not in columns]
        places.append(done.select(*rest, heading=pl.lit(heading), value=pl.col(heading)))
        cells = filled
    return cells, pl.concat(places) if places else pl.DataFrame()


def _may_hold(cells: pl.DataFrame, columns: Sequence[str], marks: Sequence[str]) -> list[str]:
    """Columns in which any cell is one of these marks: the different short ones alone are looked at."""
    longest = 2 * max(len(mark.encode()) for mark in marks)  # with white space around it
    short = {h: pl.col(h).filter(pl.col(h).str.len_bytes() <= longest).unique() for h in columns}
    is_mark = {h: e.str.strip_chars().str.to_lowercase().is_in(marks).any() for h, e in short.items()}
    return [h for h, held in cells.select(**is_mark).row(0, named=True).items() if held] if columns else []


def last_cells(cells: pl.DataFrame, columns: Sequence[str]) -> dict[str, str | None]:
    """The last cell of each column that is filled, for the part of the sheet that follows."""
    held = {heading: cells[heading].drop_nulls() for heading in columns if heading in cells.columns}
    return {heading: str(texts[-1]) if texts.len() else None for heading, texts in held.items()}
