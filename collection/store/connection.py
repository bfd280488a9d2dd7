"""Opening the store file for one read or one write, with patience for other processes."""

import random
import re
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import duckdb

from schemas.errors import StoreBusy, StoreDamaged, StoreTooNew

# Every connection of a process must use the same configuration. The older storage form lets DuckDB 1.4 open the file.
CONFIGURATION: dict[str, str | bool | int | float | list[str]] = {"storage_compatibility_version": "v1.4.0"}
FIRST_PAUSE_S, LONGEST_PAUSE_S, GROWTH = 0.005, 0.25, 1.6
# DuckDB gives one process one mode at a time, so readers and writers of this process take turns.
PROCESS_LOCK = threading.RLock()


@contextmanager
def connection(path: Path, *, wait_s: float, read_only: bool) -> Iterator[duckdb.DuckDBPyConnection]:
    """Hold the file open for the length of the block.

    Raises StoreBusy after `wait_s` seconds, StoreTooNew or StoreDamaged at once.
    """
    deadline = time.monotonic() + wait_s
    if not PROCESS_LOCK.acquire(
        timeout=wait_s
    ):  # another thread of this process waits or works: that counts as waiting too
        raise _busy(path, "")
    try:
        opened = _open(path, deadline, read_only=read_only)
        try:
            yield opened
        finally:
            opened.close()
    finally:
        PROCESS_LOCK.release()


def _open(path: Path, deadline: float, *, read_only: bool) -> duckdb.DuckDBPyConnection:
    pause = FIRST_PAUSE_S
    while True:
        try:
            return duckdb.connect(str(path), read_only=read_only, config=CONFIGURATION)
        except (duckdb.IOException, duckdb.InvalidInputException, duckdb.SerializationException) as error:
            if "lock" not in str(error):
                raise _unreadable(path, str(error)) from None
            if time.monotonic() > deadline:
                raise _busy(path, str(error)) from None
        time.sleep(pause * (0.5 + random.random()))
        pause = min(pause * GROWTH, LONGEST_PAUSE_S)


def _busy(path: Path, words: str) -> StoreBusy:
    holder = re.search(r"held in (.+?) \(PID (\d+)\)", words)
    who = f"process {holder[2]} ({Path(holder[1]).name})" if holder else "another process"
    return StoreBusy(
        str(path),
        f"{who} is holding the store",
        "",
        "Wait until it has finished, or close that program, then try again.",
    )


def _unreadable(path: Path, words: str) -> StoreDamaged | StoreTooNew:
    if "version number" in words:
        return StoreTooNew(str(path), "the file is of a later storage version", "", "Update Enamel Register.")
    return StoreDamaged(
        str(path),
        "this is not an Enamel Register store, or it is damaged",
        "a store made by `enamels intake`",
        "Name another file with --store, or bring back a copy with `enamels restore`.",
    )
