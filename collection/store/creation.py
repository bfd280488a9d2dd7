"""A new store comes into being whole: made under another name, then given its own."""

import fcntl
import os
from pathlib import Path

import duckdb

from collection.files import clear_drafts, draft_folder, put_new, reason, sync
from collection.store import tables
from collection.store.connection import CONFIGURATION, PROCESS_LOCK
from collection.store.faults import is_unwritten, write_error
from schemas.errors import StoreUnwritable


def create(path: Path) -> None:
    """Make an empty store at `path`, also in place of a file that nothing was ever written to.

    Where another process was first, its store stands. Raises StoreUnwritable.
    """
    target = Path(os.path.realpath(path))
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        clear_drafts(target.parent, f"{target.name}.")
        with draft_folder(target) as folder:
            draft = folder / "new.duckdb"
            _fill(draft)
            sync(draft)
            _take_place(draft, target)
    except (OSError, duckdb.Error) as error:
        refused = error if isinstance(error, OSError) else write_error(target.parent)
        if refused is None:
            raise
        what, to_do = reason(refused)
        raise StoreUnwritable(str(path), f"no store can be made here: {what}", "", to_do) from None


def _fill(draft: Path) -> None:
    with duckdb.connect(str(draft), config=CONFIGURATION) as con:
        con.begin()
        tables.create_all(con)
        con.commit()
        con.execute("CHECKPOINT")


def _take_place(draft: Path, target: Path) -> None:
    try:
        put_new(draft, target)
    except FileExistsError:
        with PROCESS_LOCK, target.open("rb+") as there:
            try:
                fcntl.lockf(there, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except OSError:  # somebody writes to it at this moment
                return
            if is_unwritten(target):
                os.replace(draft, target)
                sync(target.parent)
