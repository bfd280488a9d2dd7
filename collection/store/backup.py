"""Copies of the store: made whole and read through before an older copy of the same store is removed."""

import logging
import os
import re
from contextlib import ExitStack
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import polars as pl

from collection.files import clear_drafts, digest, draft_of, mode_of, output_errors, put_new, require_free, sync
from collection.store import originals
from collection.store.connection import turn
from collection.store.copies import Contents, contents, copy_bytes, finish, log_of, mark_of, rows_in
from collection.store.store import Store
from schemas.errors import StoreDamaged

COPIES_TO_KEEP = 7
STAMP = "%Y%m%d-%H%M%S-%f"
_STAMP_PATTERN = r"\d{8}-\d{6}-\d{6}"
log = logging.getLogger(__name__)


@dataclass(frozen=True)
class Copy:
    """A copy: its file, SHA-256, rows of all tables; photographs the store names, which no copy holds; the files that
    came in, schema ORIGINALS of `collection.store.originals`, of which the whole ones lie beside the copies.
    """

    path: Path
    sha256: str
    rows: int
    photographs: int
    originals: pl.DataFrame


def make(store: Store, folder: Path, *, keep: int = COPIES_TO_KEEP, at: datetime) -> Copy:
    """Copy the store into `folder`, read every table of the copy, and remove the oldest copies of this store.

    Of the copies of this store `keep` remain, the new one always among them. Raises StoreUnusable as a read does,
    StoreDamaged where the copy does not hold what the store holds, OutputRefused where it cannot be written.
    """
    target = folder / f"{store.path.stem}-{at:{STAMP}}.duckdb"
    with output_errors(folder):
        folder.mkdir(parents=True, exist_ok=True)
        clear_drafts(store.path.parent, f"{store.path.name}.")  # of a store that was being made or restored
        _clear(folder, store.path.stem)
        require_free(target, store=store.path)
        with draft_of(target, mode=mode_of(store.path)) as draft:
            before = copy_into(store, draft)
            after = finish(draft, copied_at=at)
            if before != after:
                what = f"the copy has {rows_in(after)} rows, the store {rows_in(before)}, or other values in them"
                raise StoreDamaged(str(folder), what, "", "Look at the disk, then try again.")
            sync(draft)
            put_new(draft, target)
        originals.copy_all(store.path, folder / store.path.name)
        _prune(folder, store, target, keep)
    came_in = originals.state(store.path, store.read_record("intake_file"))
    log.info("copied %d rows", rows_in(after))
    return Copy(target, digest(target), rows_in(after), after["photo"][0], came_in)


def copy_into(store: Store, draft: Path) -> Contents:
    """Copy the bytes of a store to `draft` while nobody can write; returns what it holds at that very moment."""
    with turn(store.path, wait_s=store.read_wait_s), ExitStack() as opened, store.reading() as con:
        before = contents(con)
        copy_bytes(store.path, draft, opened)
        return before


def stem_of(copy: Path) -> Path:
    """The path that files which came in are named after, of a copy: the name of its store, without the time."""
    return copy.with_name(f"{re.sub(f'-{_STAMP_PATTERN}$', '', copy.stem)}{copy.suffix}")


def _clear(folder: Path, stem: str) -> None:
    """Drafts that killed backups left, those of earlier versions of the register too."""
    clear_drafts(folder, f"{stem}-")
    for draft in folder.glob("*.part"):
        if re.fullmatch(rf"{re.escape(stem)}-{_STAMP_PATTERN}\.part", draft.name) and draft.is_file():
            draft.unlink()


def _prune(folder: Path, store: Store, newest: Path, keep: int) -> None:
    """Remove the oldest files that are marked as copies of this very store and named as this command names them."""
    store_id = mark_of(newest).store_id
    named = re.compile(rf"{re.escape(store.path.stem)}-{_STAMP_PATTERN}\.duckdb")
    ours = []
    for path in folder.iterdir():
        if path == newest or path.is_symlink() or not named.fullmatch(path.name) or log_of(path).exists():
            continue
        mark = mark_of(path)
        if mark.store_id == store_id and mark.copied_at is not None and not os.path.samefile(path, store.path):
            ours.append((mark.copied_at, path))
    for _, old in sorted(ours)[: max(len(ours) + 1 - keep, 0)]:
        old.unlink()
