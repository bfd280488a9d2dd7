"""Marks that stand for the cell above: a sheet written by hand repeats nothing."""

from collections.abc import Sequence

import polars as pl

from collection.intake.mapping.headings import signs


def with_cells_above(cells: pl.DataFrame, columns: Sequence[str]) -> tuple[pl.DataFrame, pl.DataFrame]:
    """The cells with every ditto mark of these text columns replaced by the cell above it, and where that was done.

    Returns
    -------
    cells : as given, in the same order. places : the columns of `cells` that are none of `columns`, with `heading` and
    `value`, what the mark was taken for. A mark with nothing above stays as it is.
    """
    marks = signs("ditto")
    places = []
    for heading in columns:
        text = pl.col(heading).str.strip_chars().str.to_lowercase()
        is_mark = text.is_in(marks).fill_null(value=False)
        if not cells.select(is_mark.any()).item():
            continue
        above = pl.when(~is_mark).then(heading).forward_fill()
        filled = cells.with_columns(
            pl.when(is_mark).then(pl.coalesce(above, heading)).otherwise(heading).alias(heading)
        )
        done = filled.filter(cells.select(m=is_mark)["m"] & (filled[heading] != cells[heading]).fill_null(value=False))
        rest = [c for c in cells.columns if c not in columns]
        places.append(done.select(*rest, heading=pl.lit(heading), value=pl.col(heading)))
        cells = filled
    return cells, pl.concat(places) if places else pl.DataFrame()
