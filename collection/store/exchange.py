"""Frames into DuckDB and out of it, over Arrow's C interface.

DuckDB's own ways, `relation.pl()` and registering a DataFrame, load pyarrow and with it numpy: 0.12 s of every command.
"""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager

import duckdb
import polars as pl


def fetch(con: duckdb.DuckDBPyConnection, sql: str, params: Sequence[object] = ()) -> pl.DataFrame:
    """The rows of a query."""
    return pl.DataFrame(con.sql(sql, params=list(params)) if params else con.sql(sql))


@contextmanager
def registered(con: duckdb.DuckDBPyConnection, **frames: pl.DataFrame) -> Iterator[None]:
    """Frames under their names in SQL for the length of the block."""
    for name, frame in frames.items():
        con.register(name, frame.to_struct(name))  # a Series of rows says how many it has, as a stream does not
    yield
    for name in frames:
        con.unregister(name)
