"""A sheet as read: cells as text under their own headings, nothing renamed, filled or dropped."""

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property

import polars as pl

from collection.validation.cells import SHOWN_OF_A_CELL
from schemas.fields import LONGEST_CELL

SOURCE_ROW = "source_row"
ROWS_SHOWN_OF = 200  # the first rows, from which examples are taken
# What a reader found wrong with a row before anybody asked what it means; `raw` is the whole row as JSON.
FAULTS = pl.Schema(
    {"source_row": pl.Int64(), "rule": pl.String(), "column": pl.String(), "value": pl.String(), "raw": pl.String()}
)


@dataclass(frozen=True)
class Sheet:
    """`cells` has one String column a heading and `source_row` as a spreadsheet numbers it (the heading is row 1)."""

    file: str
    sha256: str
    name: str
    cells: pl.DataFrame
    faults: pl.DataFrame = field(default_factory=lambda: pl.DataFrame(schema=FAULTS))
    blank: int = 0
    notes: tuple[tuple[str, str], ...] = ()  # rule and what it says of the whole sheet
    numbers: frozenset[str] = frozenset()  # headings under which a workbook held numbers, not text
    at_change: pl.DataFrame | None = (
        None  # of a logger: its readings in an hour that a change of the clock skips or repeats
    )

    @cached_property
    def headings(self) -> list[str]:
        """The headings in order."""
        return [n for n in self.cells.columns if n != SOURCE_ROW]

    def examples(self, most: int) -> dict[str, list[str]]:
        """The first different values of each heading, so many at most, from the first rows."""
        cells = self.cells.head(ROWS_SHOWN_OF)
        return {h: cells[h].drop_nulls().unique(maintain_order=True).head(most).to_list() for h in self.headings}


def long_cells(cells: pl.DataFrame) -> pl.DataFrame:
    """A fault for each cell that is longer than any spreadsheet can hold."""
    return _each(
        cells, "cell_too_long", lambda c: c.str.len_bytes() > LONGEST_CELL, lambda c: c.str.len_chars() > LONGEST_CELL
    )


def unreadable_cells(cells: pl.DataFrame) -> pl.DataFrame:
    """A fault for each cell with bytes that are no letters in the encoding of the file."""
    odd = "\N{REPLACEMENT CHARACTER}"
    return _each(
        cells,
        "unreadable_letters",
        lambda c: c.str.contains(odd, literal=True),
        lambda c: c.str.contains(odd, literal=True),
    )


def _each(
    cells: pl.DataFrame, rule: str, quick: Callable[[pl.Expr], pl.Expr], sure: Callable[[pl.Expr], pl.Expr]
) -> pl.DataFrame:
    names = [n for n in cells.columns if n != SOURCE_ROW]
    suspects = cells.select(quick(pl.col(n)).any().alias(n) for n in names).row(0, named=True) if names else {}
    faults = [
        cells.filter(sure(pl.col(n))).select(
            SOURCE_ROW,
            rule=pl.lit(rule),
            column=pl.lit(n),
            value=pl.col(n).str.head(SHOWN_OF_A_CELL),
            raw=pl.lit(None, pl.String),
        )
        for n, is_suspect in suspects.items()
        if is_suspect
    ]
    return pl.concat([pl.DataFrame(schema=FAULTS), *faults])
