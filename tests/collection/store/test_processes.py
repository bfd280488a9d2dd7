"""Two processes at one store, and processes that are killed: stale write refused, killed at any moment."""

import os
import random
import signal
import subprocess
import sys
import textwrap
import time
from concurrent.futures import ThreadPoolExecutor, wait
from dataclasses import replace
from pathlib import Path

import polars as pl
import pytest

from collection.store import Change, Store
from collection.store.creation import create
from schemas.errors import StoreBusy, StoreEmpty

KILLS = 20


def run(code: str, *arguments: str) -> "subprocess.Popen[str]":
    return subprocess.Popen(
        [sys.executable, "-c", textwrap.dedent(code), *arguments],
        stdout=subprocess.PIPE,
        stdin=subprocess.PIPE,
        text=True,
    )


TWO_WRITERS = """
    import sys, polars as pl
    from pathlib import Path
    from collection.store import Change, Store
    store = Store(Path(sys.argv[1]))
    seen = store.read()["object"].select("object_id", "row_version")
    print("read", flush=True)
    input()
    done = store.write(Change({"object": seen.with_columns(title=pl.lit(sys.argv[2]))}), by=sys.argv[2])
    print(sum(done.changed.values()), done.conflicts.height, *done.conflicts["theirs"].to_list(), flush=True)
"""


def test_of_two_processes_that_read_and_write_one_gets_a_conflict(store):
    store.write(Change({"object": pl.DataFrame({"object_id": ["V.1"], "title": ["old"]})}), by="ada")
    writers = [run(TWO_WRITERS, str(store.path), name) for name in ("first", "second")]
    assert [w.stdout.readline().strip() for w in writers] == ["read", "read"]

    answers = [w.communicate("go\n")[0].strip() for w in writers]

    assert answers == ["1 0", '0 1 "first"']
    assert store.read()["object"]["title"].to_list() == ["first"]


HOLD = """
    import sys, time, duckdb
    con = duckdb.connect(sys.argv[1], config={"storage_compatibility_version": "v1.4.0"})
    print("held", flush=True)
    time.sleep(30)
"""


def test_a_held_store_is_named_with_the_process_that_holds_it(store):
    store.write(Change({"object": pl.DataFrame({"object_id": ["V.1"]})}), by="ada")
    holder = run(HOLD, str(store.path))
    holder.stdout.readline()
    started = time.monotonic()

    with pytest.raises(StoreBusy, match=str(holder.pid)):
        replace(store, read_wait_s=0.5).read()

    holder.kill()
    holder.communicate()

    assert time.monotonic() - started < 5  # a reader gives up after half a second


TAKE = """
    import sys
    from dataclasses import replace
    from pathlib import Path
    from collection.store import Store
    from schemas.errors import StoreBusy
    try:
        with replace(Store(Path(sys.argv[1])), write_wait_s=0.0).writing():
            print("opened")
    except StoreBusy:
        print("busy")
"""


@pytest.mark.parametrize("asked", ["read", "write", "create"])
def test_another_thread_that_asks_for_the_store_does_not_let_other_processes_in(store, asked):
    """Closing a file drops every lock a process has on it (fcntl(2)): only the thread whose turn it is may open it."""
    store.write(Change({"object": pl.DataFrame({"object_id": ["V.1"]})}), by="ada")
    ask = {"read": store.read, "write": lambda: store.write(Change({}), by="eva"), "create": lambda: create(store.path)}
    with ThreadPoolExecutor(1) as other:
        with store.writing():
            waiting = other.submit(ask[asked])
            wait([waiting], timeout=0.5)
            answer = run(TAKE, str(store.path)).communicate()[0].strip()
        waiting.result(timeout=20)

    assert answer == "busy"


# The libraries are loaded once; each writer is a process of its own, split off before anything was opened.
WRITE_ROUNDS = """
    import os, sys, polars as pl
    from pathlib import Path
    from collection.store import Change, Store
    def rounds(store, number):
        print(os.getpid(), flush=True)
        while True:
            rows = pl.DataFrame({"object_id": [f"{number}.{i}" for i in range(10_000)], "title": ["x" * 40] * 10_000})
            print("begin", flush=True)
            store.write(Change({"object": rows}), by="writer")
            print("done", number, flush=True)
            number += 1
    for line in sys.stdin:
        writer = os.fork()
        if not writer:
            rounds(Store(Path(sys.argv[1])), int(line))
        os.waitpid(writer, 0)
        print("killed", flush=True)
"""


def test_killed_at_any_moment_every_acknowledged_write_is_there_and_no_half_write(store: Store, tmp_path: Path):
    draw = random.Random(11)
    acknowledged: set[int] = set()
    inside = 0
    number = 0
    writers = run(WRITE_ROUNDS, str(store.path))
    for _ in range(KILLS):
        before = journalled(store)
        lines, began = _killed(writers, store, number, draw.uniform(0.0, 0.35))
        acknowledged |= {int(line.split()[1]) for line in lines if line.startswith("done")}
        rounds = objects(store).group_by(pl.col("object_id").str.split(".").list.first().cast(pl.Int64)).len()
        assert rounds["len"].unique().to_list() in ([], [10_000])
        assert acknowledged <= set(rounds["object_id"])
        after = journalled(store)
        assert after == rounds.height * 10_000
        inside += began and after == before
        number = max([*rounds["object_id"], number - 1]) + 1
    writers.communicate()

    assert inside >= 1, "no kill fell inside a transaction: the test proved nothing"


def journalled(store: Store) -> int:
    try:
        return store.read_journal().height
    except StoreEmpty:
        return 0


def objects(store: Store) -> pl.DataFrame:
    """Killed before the first write was done there is a file and nothing in it: that is no store yet, not a broken one."""
    try:
        return store.read()["object"]
    except StoreEmpty:
        return pl.DataFrame(schema={"object_id": pl.String})


def _killed(writers: "subprocess.Popen[str]", store: Store, number: int, after_s: float) -> tuple[list[str], bool]:
    """What the next writer had printed when it was killed, and whether it was then writing."""
    print(number, file=writers.stdin, flush=True)
    writer = int(writers.stdout.readline())
    answers = [writers.stdout.readline().strip()]
    while not store.exists():
        time.sleep(0.005)
    time.sleep(after_s)
    os.kill(writer, signal.SIGKILL)
    answers += [line.strip() for line in iter(writers.stdout.readline, "killed\n")]
    return answers, answers[-1] == "begin"
