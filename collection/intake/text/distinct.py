"""Texts read once each, however often they stand in a column."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import polars as pl

Row = Mapping[str, str | None]


def map_distinct(
    texts: pl.DataFrame, columns: Sequence[str], schema: Mapping[str, Any], read: Callable[[Row], Mapping[str, Any]]
) -> pl.DataFrame:
    """What `read` says of each row of `texts`, in the same order; columns of `schema`.

    `columns` are the texts it reads together; one that `texts` lacks is empty.
    """
    lacking = [pl.lit(None, pl.String).alias(c) for c in columns if c not in texts.columns]
    asked = texts.with_columns(lacking).select(pl.col(c).cast(pl.String) for c in columns)
    if asked.height and asked.null_count().row(0) == (asked.height,) * asked.width:
        nothing = pl.DataFrame([read(dict.fromkeys(columns))], schema=schema)
        return nothing.select(pl.all().gather(pl.repeat(0, asked.height)))
    distinct = asked.unique(maintain_order=True)
    read_rows = pl.DataFrame([read(row) for row in distinct.iter_rows(named=True)], schema=schema)
    both = pl.concat([distinct, read_rows], how="horizontal")
    joined = asked.join(both, on=list(columns), how="left", nulls_equal=True, maintain_order="left")
    return joined.select(list(schema))
