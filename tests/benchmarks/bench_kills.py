"""Commands of the store killed at random moments, and at every system call on its files where `strace` is at hand.

    python -m tests.benchmarks.bench_kills [KILLS]

Prints one line for each kind of kill and ends with an error when an acknowledged row is lost, something is half there,
the journal disagrees, or the next command needs a manual step.
"""

import random
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass
from functools import partial
from io import StringIO
from pathlib import Path

import polars as pl

from collection.commands import cli
from collection.store import Change, Store, backup, journal
from schemas.errors import StoreEmpty
from tests.benchmarks.writers import COMMAND, OF_THIS_TREE

ENVIRONMENT = {**OF_THIS_TREE, "PYTHONDONTWRITEBYTECODE": "1"}
ROWS, ADDED = 2_000, 400
CALLS = ("pwrite64", "fsync", "fdatasync", "ftruncate", "unlink", "unlinkat", "rename", "link", "linkat", "openat")
STRACE = shutil.which("strace")


@dataclass
class Room:
    """The files of one trial: a store, a copy of it with other rows, a sheet, an older package."""

    folder: Path
    start: bytes = b""

    @property
    def store(self) -> Store:
        return Store(self.folder / "enamels.duckdb")

    def build(self) -> None:
        """A store of ROWS objects, a copy with one more, a sheet of ADDED objects, a package of the store."""
        put(self.store, ROWS)
        self.start = self.store.path.read_bytes()
        self.store.publish(self.folder / "older", "csv")
        put(self.store, 1, "C")
        backup.make(self.store, self.folder / "copy", at=self.store.now())
        lines = [f"K.{n},Plaque {n}" for n in range(ADDED)]
        (self.folder / "in.csv").write_text("\n".join(["object_id,title", *lines]), "utf-8")

    def fresh(self, *, empty: bool) -> None:
        """As before the command."""
        for path in self.folder.iterdir():
            if path.name not in ("copy", "older", "in.csv"):
                shutil.rmtree(path) if path.is_dir() else path.unlink()
        if not empty:
            self.store.path.write_bytes(self.start)
            shutil.copytree(self.folder / "older", self.folder / "package")


def put(store: Store, count: int, letter: str = "V") -> None:
    """Objects with titles."""
    rows = {"object_id": [f"{letter}.{n}" for n in range(count)], "title": [f"Box {n}" for n in range(count)]}
    store.write(Change({"object": pl.DataFrame(rows)}), by="made up")


def arguments(room: Room, what: str) -> list[str]:
    """The command to kill."""
    (copy,) = (room.folder / "copy").glob("*.duckdb")
    words = {
        "intake": ["intake", str(room.folder / "in.csv"), "--yes"],
        "first intake": ["intake", str(room.folder / "in.csv"), "--yes"],
        "backup": ["backup", "--to", str(room.folder / "copies")],
        "restore": ["restore", str(copy)],
        "export": ["export", "--to", str(room.folder / "package"), "--replace"],
    }[what]
    return [*words, "--store", str(room.store.path)]


def objects(store: Store) -> Counter[str]:
    """Objects by the letter of their number."""
    try:
        return Counter(number[0] for number in store.read()["object"]["object_id"])
    except StoreEmpty:
        return Counter()


def judge(room: Room, what: str) -> str:
    """After a kill: `whole`, `nothing`, or what is wrong."""
    there = objects(room.store)
    if what == "restore" and not room.store.path.exists():
        return "no store at the path"
    if what != "first intake" and there["V"] != ROWS:
        return "rows lost"
    if there["K"] not in (0, ADDED):
        return "half an intake"
    if there:
        replayed = journal.replay(room.store.read_journal())["object"]
        if replayed.height != sum(there.values()):
            return "the journal disagrees"
    if what in ("backup", "export"):
        result = {"backup": copied, "export": exported}[what](room)
    else:
        result = bool(there["K"] or there["C"])
    return result if isinstance(result, str) else "whole" if result else "nothing"


def copied(room: Room) -> bool | str:
    """A copy under its own name is whole."""
    copies = list((room.folder / "copies").glob("enamels-*.duckdb"))
    return "half a copy" if any(objects(Store(path))["V"] != ROWS for path in copies) else bool(copies)


def exported(room: Room) -> bool | str:
    """A package is read back whole, or there is none."""
    package = room.folder / "package"
    if not package.exists():
        return False
    back = Store(room.folder / "back.duckdb")
    back.import_package(package)
    return "half a package" if objects(back)["V"] != ROWS else True


def next_commands(room: Room, what: str) -> str:
    """The next commands, the killed one again among them; what went wrong, or nothing."""
    first = [] if what == "first intake" else [["journal", "--last", "1", "--store", str(room.store.path)]]
    for command in [*first, arguments(room, what)]:
        words = StringIO()
        with redirect_stdout(words), redirect_stderr(words):
            code = cli.run(command)
        if code:
            return f"the next {command[0]} ends with {code}: {words.getvalue()[-120:]}"
    wanted = {"intake": "K", "first intake": "K", "restore": "C"}.get(what)
    return "" if wanted is None or objects(room.store)[wanted] else "the next command gives other rows"


def killed_after(command: list[str], seconds: float) -> bool:
    """Start a command and kill it; False where it was done before."""
    started = subprocess.Popen(
        [sys.executable, "-c", COMMAND, *command], env=ENVIRONMENT, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    )
    try:
        started.wait(seconds)
    except subprocess.TimeoutExpired:
        started.kill()
    return started.wait() == -signal.SIGKILL


def killed_at_call(command: list[str], call: str, number: int) -> bool:
    """Run a command under strace, which kills it at the n-th system call of this name."""
    inject = f"inject={call}:signal=SIGKILL:when={number}"
    traced = [STRACE or "", "-f", "-o", "/dev/null", "-e", f"trace={call}", "-e", inject]
    done = subprocess.run(
        [*traced, sys.executable, "-c", COMMAND, *command], env=ENVIRONMENT, capture_output=True, check=False
    )
    return done.returncode in (-signal.SIGKILL, 128 + signal.SIGKILL)


def calls_on(room: Room, command: list[str]) -> list[tuple[str, int]]:
    """System calls of a command on files of the room: name and its number among those of its thread."""
    log = Path(tempfile.mkstemp()[1])
    traced = [STRACE or "", "-f", "-y", "-o", str(log), "-e", f"trace={','.join(CALLS)}"]
    subprocess.run([*traced, sys.executable, "-c", COMMAND, *command], env=ENVIRONMENT, capture_output=True, check=True)
    counted: Counter[tuple[str, str]] = Counter()
    points = []
    for line in log.read_text("utf-8", "replace").splitlines():
        if match := re.match(r"(\d+) +(\w+)\(", line):
            counted[match[1], match[2]] += 1
            if str(room.folder) in line:
                points.append((match[2], counted[match[1], match[2]]))
    log.unlink()
    return list(dict.fromkeys(points))


def series(room: Room, what: str, kind: str, kill: list[Callable[[], bool]]) -> bool:
    """Kill, judge, go on; prints one line and says whether all was well."""
    results: Counter[str] = Counter()
    wrong: Counter[str] = Counter()
    for one in kill:
        room.fresh(empty=what == "first intake")
        if not one():
            results["done before"] += 1
            continue
        for words in (judge(room, what), next_commands(room, what)):
            if words in ("whole", "nothing"):
                results[words] += 1
            elif words:
                wrong[words] += 1
    kills = results["whole"] + results["nothing"] + sum(wrong.values())
    print(
        f"{what}, {kind}: {kills} kills, {results['whole']} whole, {results['nothing']} nothing, wrong {dict(wrong)}",
        flush=True,
    )
    return not wrong


def main(kills: int) -> None:
    """Five commands; of the kills of each, half at random moments and half at exact calls."""
    draw = random.Random(7)
    well = []
    with tempfile.TemporaryDirectory() as folder:
        room = Room(Path(folder))
        room.build()
        for what in ("restore", "intake", "first intake", "backup", "export"):
            command = arguments(room, what)
            room.fresh(empty=what == "first intake")
            points = calls_on(room, command) if STRACE else []
            draw.shuffle(points)
            exact = points[: kills // 10]
            room.fresh(empty=what == "first intake")
            begun = time.perf_counter()
            killed_after(command, 600)
            length = time.perf_counter() - begun
            moments = [draw.uniform(0.4 * length, 1.05 * length) for _ in range(kills // 5 - len(exact))]
            well.append(
                series(
                    room,
                    what,
                    f"exact calls ({len(points)} of them)",
                    [partial(killed_at_call, command, *p) for p in exact],
                )
            )
            well.append(series(room, what, "random moments", [partial(killed_after, command, s) for s in moments]))
    if not all(well):
        sys.exit(1)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 500)
