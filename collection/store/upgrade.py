"""A store of an older schema: copied as it is, then migrated; read from a migrated copy where it cannot be written."""

import logging
import os
import tempfile
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from datetime import datetime
from pathlib import Path

import duckdb

from collection.files import draft_of, mode_of, output_errors, put_new, sync
from collection.store import tables
from collection.store.connection import connection, turn
from collection.store.copies import contents, copy_bytes, log_of
from collection.store.migrations import migrate
from schemas.errors import StoreDamaged

log = logging.getLogger(__name__)


def upgrade(path: Path, *, wait_s: float, at_utc: datetime) -> None:
    """Bring a store to the newest schema in one transaction; a copy of it as it was stays beside it.

    Nothing is done where another process was first. Raises StoreUnusable.
    """
    with (
        turn(path, wait_s=wait_s),
        ExitStack() as opened,
        connection(path, wait_s=wait_s, read_only=False) as con,
    ):
        version = tables.schema_version(con, str(path))
        if version == tables.SCHEMA_VERSION:
            return
        con.execute("CHECKPOINT")
        _put_copy(con, path, version, at_utc, opened)
        _migrate(con, version, at_utc)
        log.info("migrated the store from schema %d to %d", version, tables.SCHEMA_VERSION)


def _put_copy(con: duckdb.DuckDBPyConnection, path: Path, version: int, at_utc: datetime, opened: ExitStack) -> None:
    target = path.with_name(f"{path.stem}.schema-{version}-{at_utc:%Y%m%d-%H%M%S-%f}{path.suffix}")
    with output_errors(target), draft_of(target, mode=mode_of(path)) as draft:
        copy_bytes(path, draft, opened)
        with connection(draft, wait_s=0, read_only=True) as copied:
            if contents(copied) != contents(con):
                raise StoreDamaged(str(target), "the copy does not hold what the store holds", "", "Look at the disk.")
        sync(draft)
        put_new(draft, target)


def _migrate(con: duckdb.DuckDBPyConnection, version: int, at_utc: datetime) -> None:
    con.begin()
    try:
        migrate(con, version, at_utc)
    except BaseException:
        con.rollback()
        raise
    con.commit()


@contextmanager
def migrated_copy(path: Path, *, wait_s: float, at_utc: datetime) -> Iterator[duckdb.DuckDBPyConnection]:
    """A connection to a private, migrated copy of a store that cannot be written, for the length of the block."""
    with tempfile.TemporaryDirectory(prefix="enamels-") as folder:
        draft = Path(folder) / os.path.basename(path)
        with (
            turn(path, wait_s=wait_s),
            ExitStack() as opened,
            connection(path, wait_s=wait_s, read_only=True),
        ):
            copy_bytes(path, draft, opened)
        for file in (draft, log_of(draft)):
            if file.exists():
                file.chmod(0o600)
        with connection(draft, wait_s=0, read_only=False) as con:
            _migrate(con, tables.schema_version(con, str(path)), at_utc)
            yield con
