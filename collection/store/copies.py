"""What a copy of a store is: the bytes of the file and its log, what it holds, and whose copy it is."""

import shutil
from collections.abc import Mapping
from contextlib import ExitStack
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import duckdb

from collection.store import tables
from collection.store.connection import connection
from schemas.errors import StoreUnusable

CHUNK_BYTES = 2**22
# A draft is this process's own.
_NO_WAIT_S = 0.0
# Table to number of rows and a sum over the hashes of all their values: reading it reads every value.
Contents = Mapping[str, tuple[int, int]]


@dataclass(frozen=True)
class Mark:
    """Which store a file is, and, if it is a copy, the moment (UTC) it was taken."""

    store_id: str | None
    copied_at: datetime | None


def log_of(path: Path) -> Path:
    """The file in which DuckDB keeps what it has not yet moved into the store file."""
    return path.parent / f"{path.name}.wal"


def copy_bytes(source: Path, draft: Path, opened: ExitStack) -> None:
    """Copy a store file, and its log where there is one, to `draft`.

    The source stays open as long as `opened` does. Closing it would drop the lock that a connection of this process
    holds on the file, so `opened` must outlive the connection, and its turn must outlive `opened`.
    """
    for one, other in ((source, draft), (log_of(source), log_of(draft))):
        if one is source or one.exists():
            reading = opened.enter_context(one.open("rb"))
            with other.open("wb") as writing:
                shutil.copyfileobj(reading, writing, CHUNK_BYTES)


def contents(con: duckdb.DuckDBPyConnection) -> Contents:
    """Rows of every table, climate readings and journal too, each value of them read. Raises duckdb.Error."""
    names = sorted(set(tables.layout(con)) - {tables.ABOUT})
    # One question for all: forty of them take DuckDB three times as long.
    asked = (
        f'SELECT {number}, count(*), coalesce(bit_xor(hash(t)), 0) FROM "{_quoted(name)}" t'
        for number, name in enumerate(names)
    )
    counted = con.execute(" UNION ALL ".join(asked)).fetchall() if names else []
    return {names[number]: (rows, total) for number, rows, total in counted}


def _quoted(name: str) -> str:
    """A file to restore may hold tables of any name."""
    return name.replace('"', '""')


def rows_in(counted: Contents) -> int:
    """Rows of all tables together."""
    return sum(rows for rows, _ in counted.values())


def finish(draft: Path, *, copied_at: datetime | None) -> Contents:
    """Move the log of a draft into it, mark it as a copy or as none, and read all of it. Raises StoreUnusable."""
    with connection(draft, wait_s=_NO_WAIT_S, read_only=False) as con:
        tables.schema_version(con, str(draft))
        if "copied_at" in tables.layout(con)[tables.ABOUT]:
            con.execute(f"UPDATE {tables.ABOUT} SET copied_at = ?", [copied_at])
        con.execute("CHECKPOINT")
        return contents(con)


def mark_of(path: Path) -> Mark:
    """Whose copy a file is; a mark without a number for what is no store, is held, or is of an older schema."""
    try:
        with connection(path, wait_s=_NO_WAIT_S, read_only=True) as con:
            if "copied_at" not in tables.layout(con).get(tables.ABOUT, ()):
                return Mark(None, None)
            ((store_id, copied_at),) = con.sql(f"SELECT store_id, copied_at FROM {tables.ABOUT}").fetchall()
            return Mark(store_id, copied_at)
    except StoreUnusable:
        return Mark(None, None)
