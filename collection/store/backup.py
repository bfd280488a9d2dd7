"""Copies of the store: made whole, counted and hashed before an older one is let go."""

import hashlib
import os
import shutil
from datetime import datetime
from pathlib import Path

from collection.store.connection import connection
from collection.store.store import WRITE_WAIT_S, Store
from schemas.errors import NotFound, StoreDamaged

KEPT_COPIES = 7


def make(store: Store, folder: Path, *, keep: int = KEPT_COPIES, at: datetime) -> tuple[Path, str, int]:
    """Copy the store into `folder`; returns the copy, its SHA-256 and the number of rows counted in it.

    Raises StoreBusy, StoreUnusable; StoreDamaged where the copy does not hold what the store holds.
    """
    store.read()  # says in one sentence why there is nothing to copy
    folder.mkdir(parents=True, exist_ok=True)
    target = folder / f"{store.path.stem}-{at:%Y%m%d-%H%M%S-%f}.duckdb"
    draft = target.with_suffix(".part")
    with connection(store.path, wait_s=WRITE_WAIT_S, read_only=False) as con:
        con.execute("CHECKPOINT")  # without it the tail would stay behind in the log
        shutil.copyfile(store.path, draft)
    before, after = rows(store), rows(Store(draft))
    if before > after:
        raise StoreDamaged(str(draft), f"the copy has {after} rows, the store {before}", "", "Try again.")
    os.replace(draft, target)
    _prune(folder, store.path.stem, keep)
    return target, digest(target), after


def restore(store: Store, copy: Path) -> int:
    """Put a copy in the place of the store; the store that was there is kept beside it. Returns the rows it holds."""
    if not copy.is_file():
        raise NotFound(str(copy), "there is no such copy", "a file made by `enamels backup`", "Look into the folder.")
    counted = rows(Store(copy))
    draft = store.path.with_suffix(".part")
    shutil.copyfile(copy, draft)
    if store.exists():
        with connection(store.path, wait_s=WRITE_WAIT_S, read_only=False) as con:
            con.execute("CHECKPOINT")
        os.replace(store.path, store.path.with_suffix(".before-restore.duckdb"))
    os.replace(draft, store.path)
    return counted


def rows(store: Store) -> int:
    """Rows of every record."""
    return sum(frame.height for frame in store.read().frames.values())


def digest(path: Path) -> str:
    """SHA-256 of a file."""
    with path.open("rb") as handle:
        return hashlib.file_digest(handle, "sha256").hexdigest()


def _prune(folder: Path, stem: str, keep: int) -> None:
    copies = sorted(folder.glob(f"{stem}-*.duckdb"))
    for old in copies[: max(len(copies) - keep, 0)]:
        old.unlink()
