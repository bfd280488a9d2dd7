"""Opening the store file for one read or one write, with patience for other processes."""

import fcntl
import logging
import os
import random
import re
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import duckdb

from collection.store.faults import empty, explain, require_store_file
from schemas.errors import StoreBusy

# Every connection of a process must use the same configuration. The older storage form lets DuckDB 1.4 open the file.
# A store may come from anywhere: nothing in it may read another file, and no extension is fetched or loaded. Frames of
# this process can be registered all the same.
CONFIGURATION: dict[str, str | bool | int | float | list[str]] = {
    "storage_compatibility_version": "v1.4.0",
    "enable_external_access": False,
    "autoinstall_known_extensions": False,
    "autoload_known_extensions": False,
}
# Looking whether the file is held costs microseconds, so all look equally often, and nobody waits much longer.
PAUSE_S = 0.01
# DuckDB gives one process one mode at a time, so readers and writers of this process take turns. And closing a file
# drops every lock the process has on it (fcntl(2)), so a store file is opened, for whatever reason, in a turn only.
PROCESS_LOCK = threading.RLock()
# The message begins so whatever the path, which comes after it.
_LOCKED = "IO Error: Could not set lock on file "
log = logging.getLogger(__name__)


@contextmanager
def connection(path: Path, *, wait_s: float, read_only: bool) -> Iterator[duckdb.DuckDBPyConnection]:
    """Hold the file open for the length of the block.

    Raises StoreBusy after `wait_s` seconds; StoreEmpty, StoreTooNew, StoreUnwritable or StoreDamaged at once, also for
    what DuckDB finds in the file only while the block runs.
    """
    deadline = time.monotonic() + wait_s
    with turn(path, wait_s=wait_s):
        opened = _open(path, deadline, read_only=read_only)
        try:
            yield opened
            opened.close()
        except duckdb.Error as error:
            raise explain(path, error, read_only=read_only) from error
        finally:
            with suppress(duckdb.Error):
                opened.close()


@contextmanager
def turn(path: Path, *, wait_s: float) -> Iterator[None]:
    """For the length of the block no other thread of this process opens or closes a store. Raises StoreBusy."""
    if not PROCESS_LOCK.acquire(timeout=wait_s):  # another thread waits or works
        raise _busy(path, "")
    try:
        yield
    finally:
        PROCESS_LOCK.release()


def _open(path: Path, deadline: float, *, read_only: bool) -> duckdb.DuckDBPyConnection:
    while True:
        require_store_file(path, read_only=read_only)
        if read_only and not path.exists():
            raise empty(path)
        try:
            # Whole, so that no name has a meaning of its own to DuckDB.
            return duckdb.connect(str(path.absolute()), read_only=read_only, config=CONFIGURATION)
        except duckdb.Error as error:
            if not str(error).startswith(_LOCKED):
                raise explain(path, error, read_only=read_only) from None
            if time.monotonic() > deadline:
                log.info("gave up waiting for the store")
                raise _busy(path, str(error)) from None
        while is_held(path, read_only=read_only) and time.monotonic() < deadline:
            time.sleep(PAUSE_S * (0.5 + random.random()))


def is_held(path: Path, *, read_only: bool) -> bool:
    """Another process has the lock that DuckDB asks for. Never asked while this process has the file open.

    Closing a file drops every lock this process has on it.
    """
    try:
        with path.open("rb" if read_only else "rb+") as handle:
            fcntl.lockf(handle, (fcntl.LOCK_SH if read_only else fcntl.LOCK_EX) | fcntl.LOCK_NB)
    except BlockingIOError:
        return True
    except OSError:
        return False
    return False


def _busy(path: Path, words: str) -> StoreBusy:
    numbers = re.findall(r"\(PID (\d+)\)", words)
    who = f"process {numbers[-1]} ({_command(numbers[-1])})" if numbers else "another process"
    return StoreBusy(
        str(path),
        f"{who} is holding the store",
        "",
        "Wait until it has finished, or close that program, then try again.",
    )


def _command(number: str) -> str:
    """What a process was started as: `enamels intake` rather than the interpreter that runs it."""
    with suppress(OSError):
        words = os.fsdecode(Path(f"/proc/{number}/cmdline").read_bytes()).split("\0")
        names = [Path(word).name for word in words if word and not word.startswith("-")]
        if "enamels" in names:
            return " ".join(names[names.index("enamels") :][:2])
        return names[0] if names else "a program"
    return "a program"
