"""Files as they came in: each beside the store, under its content hash, so that what was written can be read again.

The folder is named after the store, `enamels.duckdb.files`; a file in it is its SHA-256 and the ending it came with. It
is there before the row that names it (record `intake_file`), and nothing takes it away.
"""

import re
import shutil
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

import polars as pl

from collection.files import (
    MOST_BYTES,
    clear_drafts,
    digest,
    draft_of,
    output_errors,
    put_new,
    reason,
    require_source,
    sync,
)
from collection.frames import returns
from schemas.errors import SourceRefused, StoreUnwritable

FOLDER = ".files"
MOST_COPIED_BYTES = 200_000_000  # a larger file is not copied, and the answer says so
ORIGINALS = pl.Schema(dict.fromkeys(("sha256", "name", "fate"), pl.String))
WHOLE, MISSING, CHANGED = "whole", "missing", "changed"
_ENDING = re.compile(r"\.[a-z0-9]{1,8}")


def folder_of(store: Path) -> Path:
    """Where the files of a store lie."""
    return store.parent / f"{store.name}{FOLDER}"


def keep(store: Path, source: Path, sha256: str) -> str:
    """Copy a file that came in beside the store; a sentence where it is too large for that, else empty.

    Raises StoreUnwritable where it cannot be written, SourceRefused where it is no longer what was read.
    """
    if find(store, sha256):
        return ""
    require_source(source)
    if (size := source.stat().st_size) > MOST_COPIED_BYTES:
        return (
            f"{source.name}: not copied beside the store ({size:,} bytes, at most {MOST_COPIED_BYTES:,});"
            " put it by, so that what was written can be read again."
        )
    try:
        _put(source, folder_of(store), sha256)
    except OSError as error:
        what, to_do = reason(error)
        raise StoreUnwritable(str(store), f"{source.name} cannot be copied beside it: {what}", "", to_do) from None
    return ""


def find(store: Path, sha256: str) -> Path | None:
    """The file of this content beside the store; None where it was never copied, or is gone."""
    return next((path for path in _of(folder_of(store)) if path.stem == sha256), None)


@returns(ORIGINALS)
def state(store: Path, files: pl.DataFrame) -> pl.DataFrame:
    """Every file that was read (rows of record `intake_file`), schema ORIGINALS: whole, missing or changed."""
    there = {path.stem: path for path in _of(folder_of(store))}
    rows = [(sha, name, _state(there.get(sha), sha)) for sha, name in files.select("sha256", "name").iter_rows()]
    return pl.DataFrame(rows, schema=ORIGINALS, orient="row")


def copy_all(store: Path, other: Path) -> int:
    """Put the files beside one store beside another path too, those of them that are whole; how many there are now.

    Raises OutputRefused.
    """
    whole = [path for path in _of(folder_of(store)) if path.stat().st_size <= MOST_BYTES and digest(path) == path.stem]
    there = {path.name for path in _of(folder_of(other))}
    with output_errors(folder_of(other)):
        for path in whole:
            if path.name not in there:
                _put(path, folder_of(other), path.stem)
    return len(whole)


def _state(path: Path | None, sha256: str) -> str:
    if path is None:
        return MISSING
    return WHOLE if digest(path) == sha256 else CHANGED


def _of(folder: Path) -> Iterator[Path]:
    if folder.is_dir():
        yield from (path for path in sorted(folder.iterdir()) if re.fullmatch(r"[0-9a-f]{64}", path.stem))


def _put(source: Path, folder: Path, sha256: str) -> None:
    ending = source.suffix.lower()
    target = folder / f"{sha256}{ending if _ENDING.fullmatch(ending) else ''}"
    folder.mkdir(parents=True, exist_ok=True)
    clear_drafts(folder, "")
    with draft_of(target) as draft:
        shutil.copyfile(source, draft)
        if digest(draft) != sha256:
            what = "the file was changed while it was read"
            raise SourceRefused(str(source), what, "a file nobody writes to", "Bring it in again.")
        sync(draft)
        with suppress(FileExistsError):  # another intake of the same file was first
            put_new(draft, target)
