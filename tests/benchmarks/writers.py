"""Processes that write without pause, as commands would, and say of each write that it was done and how long it took.

python tests/benchmarks/writers.py STORE ACKNOWLEDGED NAME

A NAME that begins with `intake` runs the command, any other writes to the store directly.
"""

import contextlib
import os
import subprocess
import sys
import time
from collections.abc import Iterator, Sequence
from pathlib import Path

import polars as pl

from collection.store import Change, Store

COMMAND = "from collection.commands import main; main()"
OF_THIS_TREE = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])}
KINDS = ("intake", "write")


@contextlib.contextmanager
def writing(store: Path, folder: Path, names: Sequence[str] = KINDS) -> Iterator[list[Path]]:
    """Start them; yields the files of what each has acknowledged; on leaving, each ends its last write and stops."""
    done = [folder / f"{name}.done" for name in names]
    stop = folder / "stop"
    started = [
        subprocess.Popen(
            [sys.executable, str(Path(__file__)), str(store), str(path), name], stderr=subprocess.PIPE, env=OF_THIS_TREE
        )
        for path, name in zip(done, names, strict=True)
    ]
    try:
        yield done
    finally:
        stop.touch()
        for writer in started:
            words = writer.communicate(timeout=120)[1].decode()
            assert writer.returncode == 0, words


def lost(store: Store, done: list[Path]) -> list[str]:
    """What was acknowledged and is not both in the store and in its journal."""
    acknowledged = [line.split()[0] for path in done for line in path.read_text("utf-8").splitlines()]
    noted = store.read_journal().filter(pl.col("record_name") == "object")["row_key"].str.json_path_match("$.object_id")
    there = set(store.read()["object"]["object_id"]) & set(noted)
    return [number for number in acknowledged if number not in there]


def seconds(done: list[Path]) -> list[float]:
    """How long each acknowledged write took, shortest first."""
    return sorted(float(line.split()[1]) for path in done for line in path.read_text("utf-8").splitlines())


def _write(store: Store, number: str) -> None:
    written = store.write(Change({"object": pl.DataFrame({"object_id": [number], "title": ["Box"]})}), by="writer")
    assert not written.conflicts.height


def _intake(store: Store, number: str, sheet: Path) -> None:
    sheet.write_text(f"Accession No,Title,Material and technique\n{number},Box,Painted enamel on copper\n", "utf-8")
    asked = [sys.executable, "-c", COMMAND, "intake", str(sheet), "--yes", "--store", str(store.path)]
    done = subprocess.run(asked, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


def main(store: Store, done: Path, name: str) -> None:
    """Write one object after another until the file `stop` is there."""
    count = 0
    with done.open("w", encoding="utf-8") as acknowledged:
        while not (done.parent / "stop").exists():
            count += 1
            number = f"{name}.{count}"
            begun = time.perf_counter()
            if name.startswith("intake"):
                _intake(store, number, done.with_suffix(".csv"))
            else:
                _write(store, number)
            acknowledged.write(f"{number} {time.perf_counter() - begun:.3f}\n")
            acknowledged.flush()


if __name__ == "__main__":
    main(Store(Path(sys.argv[1])), Path(sys.argv[2]), sys.argv[3])
