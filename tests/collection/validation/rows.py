"""Rows as a form gives them, to be judged on a day against a register that holds nothing."""

from datetime import date

import polars as pl

from collection.snapshot import Collection

TODAY = date(2026, 9, 30)
EMPTY = Collection.of({})


def rows(**columns: list[object]) -> pl.DataFrame:
    return pl.DataFrame(columns).with_row_index("row", 1).cast({"row": pl.Int64})


def outcomes(result) -> list[tuple[str, int, str]]:
    return result.outcomes.select("record", "row", "outcome").rows()
