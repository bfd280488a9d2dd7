"""Putting a copy in the place of a store, whatever state that store is in; what was there is put aside."""

import fcntl
import logging
import os
import shutil
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from collection.files import clear_drafts, draft_of, mode_of, output_errors, put_new, require_source, sync
from collection.store import originals
from collection.store.backup import STAMP, stem_of
from collection.store.connection import PAUSE_S, PROCESS_LOCK, connection
from collection.store.copies import copy_bytes, finish, log_of, rows_in
from collection.store.store import Store
from schemas.errors import NotFound, StoreBusy, StoreDamaged, StoreEmpty, StoreUnusable, WrongUsage

log = logging.getLogger(__name__)
_SETTLE_TRIES = 5


@dataclass(frozen=True)
class Restored:
    """Rows of all tables that the store holds now; `aside`: the file it was before, if there was one."""

    rows: int
    aside: Path | None


def restore(store: Store, copy: Path, *, at: datetime) -> Restored:
    """Put a copy, with the log beside it if it has one, in the place of the store.

    What was there is put aside under the time `at`, with its log; nothing of it need be readable. At every moment there
    is a store at the path. Raises NotFound, SourceRefused, StoreDamaged for a copy that cannot be read through,
    StoreBusy, OutputRefused.
    """
    _require_copy(store, copy)
    target = Path(os.path.realpath(store.path))
    with output_errors(target):
        target.parent.mkdir(parents=True, exist_ok=True)
        clear_drafts(target.parent, f"{target.name}.")
        with draft_of(target, mode=mode_of(target if target.exists() else copy)) as draft:
            with ExitStack() as opened:
                copy_bytes(copy, draft, opened)
            rows = rows_in(_read_through(draft, copy))
            sync(draft)
            originals.copy_all(stem_of(copy), target)
            aside = _swap(store, target, draft, at)
    log.info("restored %d rows", rows)
    return Restored(rows, aside)


def _require_copy(store: Store, copy: Path) -> None:
    if not os.path.lexists(copy):
        raise NotFound(str(copy), "there is no such copy", "a file made by `enamels backup`", "Look into the folder.")
    require_source(copy, most_bytes=2**62)
    if store.path.is_dir():
        raise WrongUsage(str(store.path), "this is a folder", "the path of a store", "Name a file with --store.")
    if store.path.exists() and os.path.samefile(copy, store.path):
        raise WrongUsage(str(copy), "this is the store itself", "a copy of it", "Name a copy.")


def _read_through(draft: Path, copy: Path) -> dict[str, tuple[int, int]]:
    """The draft holds what the copy holds, but of the copy must be spoken."""
    try:
        return dict(finish(draft, copied_at=None))
    except (StoreDamaged, StoreEmpty) as error:
        what = "the copy cannot be read through: it is damaged, its log does not belong to it, or it is no store"
        raise StoreDamaged(str(copy), what, "a file made by `enamels backup`", "Restore another copy.") from error


def _swap(store: Store, target: Path, draft: Path, at: datetime) -> Path | None:
    """Give the old file a second name, then let the draft take its first one in a single step."""
    for _ in range(_SETTLE_TRIES):
        settled = _settle(store)
        with _held(target, store.write_wait_s):
            if settled and log_of(target).exists():
                continue  # somebody wrote in between, and was killed
            aside = _put_aside(target, at) if target.exists() else None
            # Only a store that cannot be read has a log here; it must not be taken for that of the new one.
            log_of(target).unlink(missing_ok=True)
            os.replace(draft, target)
            sync(target.parent)
            return aside
    raise StoreBusy(str(target), "others write to it all the time", "", "Close the other programs, then try again.")


def _settle(store: Store) -> bool:
    """Move the log of the old store into it, if it can be read at all."""
    if not store.exists():
        return True
    try:
        with connection(store.path, wait_s=store.write_wait_s, read_only=False) as con:
            con.execute("CHECKPOINT")
    except StoreBusy:
        raise
    except StoreUnusable:
        return False
    return True


@contextmanager
def _held(path: Path, wait_s: float) -> Iterator[None]:
    """Keep every other process from writing, with the lock that DuckDB itself asks for; the content does not matter."""
    if not path.exists():
        yield
        return
    deadline = time.monotonic() + wait_s
    with PROCESS_LOCK, path.open("rb") as handle:
        while True:
            try:
                fcntl.lockf(handle, fcntl.LOCK_SH | fcntl.LOCK_NB)
                break
            except OSError:
                if time.monotonic() > deadline:
                    what = "another process is holding the store"
                    raise StoreBusy(str(path), what, "", "Wait until it has finished, then try again.") from None
            time.sleep(PAUSE_S)
        yield


def _put_aside(target: Path, at: datetime) -> Path:
    aside = target.with_name(f"{target.stem}.replaced-{at:{STAMP}}{target.suffix}")
    for one, other in ((target, aside), (log_of(target), log_of(aside))):
        if one.exists():
            _second_name(one, other)
    return aside


def _second_name(path: Path, other: Path) -> None:
    """A link where the disk has links; else a whole copy."""
    try:
        os.link(path, other)
    except FileExistsError:
        raise
    except OSError:
        with draft_of(other, mode=mode_of(path)) as draft:
            shutil.copyfile(path, draft)
            sync(draft)
            put_new(draft, other)
    sync(other.parent)
