"""Stores attached to one DuckDB of the tests' process, where the opening of a file is not what is looked at.

To start DuckDB takes four times as long as to attach a file to one that runs, and most tests open a store many times.
"""

from functools import cache
from itertools import count
from pathlib import Path
from typing import Any

import duckdb
import pytest

from collection.store.faults import empty, require_store_file

NUMBER = count()


class Attached:
    """A connection to one store: to close it detaches the store."""

    def __init__(self, path: Path, *, read_only: bool) -> None:
        self._name = f"store_{next(NUMBER)}"
        how = "READ_ONLY" if read_only else "STORAGE_VERSION 'v1.4.0'"
        quoted = str(path.absolute()).replace("'", "''")
        _running().execute(f"ATTACH '{quoted}' AS {self._name} ({how})")
        self._connection = _running().cursor()
        self._connection.execute(f"USE {self._name}")
        self._open = True

    def __getattr__(self, name: str) -> Any:
        return getattr(self._connection, name)

    def close(self) -> None:
        if self._open:
            self._open = False
            self._connection.close()
            _running().execute(f"DETACH {self._name}")


@cache
def _running() -> duckdb.DuckDBPyConnection:
    return duckdb.connect(config={"autoinstall_known_extensions": False, "autoload_known_extensions": False})


def attach_stores(patch: pytest.MonkeyPatch) -> None:
    """Let `collection.store.connection` open stores so."""

    def opened(path: Path, deadline: float, *, read_only: bool) -> Attached:
        require_store_file(path, read_only=read_only)
        if read_only and not path.exists():
            raise empty(path)
        return Attached(path, read_only=read_only)

    patch.setattr("collection.store.connection._open", opened)
