"""What is wrong with a store file: asked of the file and the disk, never of words in a message that holds the path."""

import errno
import os
import stat
import tempfile
from pathlib import Path

import duckdb

from collection.files import reason
from schemas.errors import (
    RegisterError,
    StoreDamaged,
    StoreEmpty,
    StoreTooNew,
    StoreUnusable,
    StoreUnwritable,
)

# DuckDB begins a file with a checksum of 8 bytes, then these letters; three headers of 4,096 bytes come first.
MAGIC, MAGIC_AT = b"DUCK", 8
HEADERS_BYTES = 3 * 4096
# Enough to find a full disk: DuckDB writes blocks of 256 KiB.
PROBE_BYTES = 2**20
# The message begins so whatever the path.
_TOO_NEW = "IO Error: Trying to read a database file with version number"
# What goes wrong with these lies in a statement or in the values given to it; with all others in the file.
_OF_THE_STATEMENT = (duckdb.ProgrammingError, duckdb.IntegrityError, duckdb.DataError, duckdb.NotSupportedError)
A_STORE = "a store made by `enamels intake`"
COPY_BACK = "Bring back a copy with `enamels restore COPY`; what is there now is put aside, not deleted."


def is_unwritten(path: Path) -> bool:
    """A file left by a process that was killed before it had written anything: nothing was ever in it."""
    if path.stat().st_size >= HEADERS_BYTES:
        return False
    begun = path.read_bytes()
    return not begun.strip(b"\0") or begun[MAGIC_AT : MAGIC_AT + len(MAGIC)] == MAGIC


def require_store_file(path: Path, *, read_only: bool) -> None:
    """Raise what is to be said of a file that DuckDB need not be asked about; nothing for one that is not there."""
    try:
        status = os.stat(path)
    except FileNotFoundError:
        return
    except (OSError, ValueError) as error:
        raise _not_reached(path, error) from None
    if not stat.S_ISREG(status.st_mode):
        what = "a folder" if stat.S_ISDIR(status.st_mode) else "a device or a pipe"
        raise StoreDamaged(str(path), f"this is {what}", A_STORE, "Name another file with --store.")
    begun = _first_bytes(path, read_only=read_only)
    if is_unwritten(path):
        raise empty(path)
    if begun[MAGIC_AT:] != MAGIC:
        what = "this is not an Enamel Register store"
        raise StoreDamaged(str(path), what, A_STORE, f"Name another file with --store. {COPY_BACK}")


def empty(path: Path) -> StoreEmpty:
    """The error that says that there is no store yet."""
    return StoreEmpty(str(path), "there is no store here yet", "", "Bring in a catalogue with `enamels intake FILE`.")


def _first_bytes(path: Path, *, read_only: bool) -> bytes:
    """Opened as DuckDB would open it, so that a refusal comes from the system, in its own words."""
    try:
        handle = os.open(path, os.O_RDONLY if read_only else os.O_RDWR)
    except OSError as error:
        raise _not_reached(path, error) from None
    try:
        return os.read(handle, MAGIC_AT + len(MAGIC))
    except OSError as error:
        raise _not_reached(path, error) from None
    finally:
        os.close(handle)


def _not_reached(path: Path, error: OSError | ValueError) -> StoreUnwritable:
    if not isinstance(error, OSError):
        return StoreUnwritable(str(path), "this is no path", "the path of a file", "Look at --store.")
    what, to_do = reason(error)
    if error.errno == errno.EROFS:
        to_do = "It can be read where it is; to write, copy it to a place that can be written to."
    return StoreUnwritable(str(path), f"the store cannot be opened: {what}", "", to_do)


def write_error(folder: Path) -> OSError | None:
    """The error with which a file in this folder cannot be written, if it cannot."""
    try:
        with tempfile.TemporaryFile(dir=folder) as probe:
            probe.write(b"\1" * PROBE_BYTES)
            probe.flush()
            os.fsync(probe.fileno())
    except OSError as error:
        return error
    return None


def explain(path: Path, error: duckdb.Error, *, read_only: bool) -> RegisterError | duckdb.Error:
    """The error to raise in place of one of DuckDB's; itself where it is a fault of the statements, not of the file."""
    if str(error).startswith(_TOO_NEW):
        what = "the file is of a later storage version"
        return StoreTooNew(str(path), what, "", "Update Enamel Register.")
    if isinstance(error, duckdb.OutOfMemoryException):
        what = "there is not enough memory for this"
        return StoreUnusable(str(path), what, "", "Close other programs, then try again.")
    if not read_only and (refused := write_error(path.parent)):
        what, to_do = reason(refused)
        return StoreUnwritable(str(path), f"the store cannot be written: {what}", "", f"Nothing was written. {to_do}")
    # A read asks only what every store can answer, so whatever goes wrong lies in the file.
    if isinstance(error, _OF_THE_STATEMENT) and not read_only:
        return error
    return _damaged(path)


def _damaged(path: Path) -> StoreDamaged:
    logged = (path.parent / f"{path.name}.wal").exists()
    what = "the store, or the log beside it, is damaged" if logged else "the store is damaged: a part cannot be read"
    return StoreDamaged(str(path), what, "", COPY_BACK)
