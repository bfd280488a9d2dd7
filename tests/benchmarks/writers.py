"""Two processes that write without pause, as commands would, and say of each write that it was done.

python tests/benchmarks/writers.py STORE ACKNOWLEDGED intake|write
"""

import contextlib
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import polars as pl

from collection.store import Change, Store

COMMAND = "from collection.commands import main; main()"
OF_THIS_TREE = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])}
KINDS = ("intake", "write")


@contextlib.contextmanager
def writing(store: Path, folder: Path) -> Iterator[list[Path]]:
    """Start both; yields the files of what each has acknowledged; on leaving, both end their last write and stop."""
    done = [folder / f"{kind}.done" for kind in KINDS]
    stop = folder / "stop"
    started = [
        subprocess.Popen(
            [sys.executable, str(Path(__file__)), str(store), str(path), kind], stderr=subprocess.PIPE, env=OF_THIS_TREE
        )
        for path, kind in zip(done, KINDS, strict=True)
    ]
    try:
        yield done
    finally:
        stop.touch()
        for writer in started:
            said = writer.communicate(timeout=60)[1].decode()
            assert writer.returncode == 0, said


def lost(store: Store, done: list[Path]) -> list[str]:
    """What was acknowledged and is not both in the store and in its journal."""
    said = [line for path in done for line in path.read_text("utf-8").split()]
    noted = store.read_journal().filter(pl.col("record_name") == "object")["row_key"].str.json_path_match("$.object_id")
    there = set(store.read()["object"]["object_id"]) & set(noted)
    return [number for number in said if number not in there]


def _write(store: Store, number: str) -> None:
    written = store.write(Change({"object": pl.DataFrame({"object_id": [number], "title": ["Box"]})}), by="writer")
    assert not written.conflicts.height


def _intake(store: Store, number: str, folder: Path) -> None:
    sheet = folder / "one.csv"
    sheet.write_text(f"Accession No,Title,Material and technique\n{number},Box,Painted enamel on copper\n", "utf-8")
    asked = [sys.executable, "-c", COMMAND, "intake", str(sheet), "--yes", "--store", str(store.path)]
    done = subprocess.run(asked, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


def main(store: Store, done: Path, kind: str) -> None:
    """Write one object after another until the file `stop` is there."""
    number = 0
    with done.open("w", encoding="utf-8") as acknowledged:
        while not (done.parent / "stop").exists():
            number += 1
            name = f"{kind}.{number}"
            _intake(store, name, done.parent) if kind == "intake" else _write(store, name)
            acknowledged.write(f"{name}\n")
            acknowledged.flush()


if __name__ == "__main__":
    main(Store(Path(sys.argv[1])), Path(sys.argv[2]), sys.argv[3])
