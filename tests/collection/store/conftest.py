"""Stores to break: one of an earlier version, and a run of a command that is killed at an exact call."""

import gzip
import json
import os
import shutil
import signal
import subprocess
import sys
import textwrap
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from collection.store import Store
from tests.collection.store.old_stores import NOON, rows_of

KEPT_STORES = Path(__file__).parents[2] / "stores"

# The commands are loaded once; each run is a process of its own, split off before anything was read or opened.
KILL = """
    import importlib, json, os, signal, sys
    from collection.commands import cli
    def counted(real, calls, turn):
        def call(*args, **kwargs):
            calls[0] += 1
            if calls[0] == turn:
                os.kill(os.getpid(), signal.SIGKILL)
            return real(*args, **kwargs)
        return call
    def run(names, turn, arguments, answer):
        to = os.open(answer, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
        os.dup2(to, 1), os.dup2(to, 2)
        calls = [0]
        for name in names.split(","):
            module, _, function = name.rpartition(".")
            owner = importlib.import_module(module or "os")
            setattr(owner, function, counted(getattr(owner, function), calls, turn))
        sys.exit(cli.run(arguments))
    for name in ("intake", "backup", "restore"):
        cli.enamels.get_command(None, name)
    for line in sys.stdin:
        child = os.fork()
        if not child:
            run(*json.loads(line))
        print(os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]), flush=True)
"""


def copied_to(store: Store, path: Path) -> Store:
    """The store, holding what the file at the path holds; a file that several tests begin with is written once."""
    shutil.copyfile(path, store.path)
    return store


@pytest.fixture(scope="session")
def kept_store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store that version 0.1.0 wrote, with rows of every record; to be copied and never written to."""
    path = tmp_path_factory.mktemp("kept") / "old.duckdb"
    with gzip.open(KEPT_STORES / "0.1.0.duckdb.gz") as packed, path.open("wb") as whole:
        shutil.copyfileobj(packed, whole)
    return path


@pytest.fixture
def old_store(kept_store: Path, tmp_path: Path) -> Path:
    """A copy of the store that version 0.1.0 wrote."""
    return Path(shutil.copyfile(kept_store, tmp_path / "old.duckdb"))


@pytest.fixture
def old(old_store: Path) -> Store:
    """That copy, opened at noon."""
    return Store(old_store, now=lambda: NOON)


@pytest.fixture(scope="session")
def old_rows(kept_store: Path) -> dict[str, list[dict[str, object]]]:
    """The rows of the old store, table by table."""
    return rows_of(kept_store)


@pytest.fixture
def old_package(tmp_path: Path) -> Path:
    """The package that version 0.1.0 published of it."""
    folder = tmp_path / "old_package"
    with zipfile.ZipFile(KEPT_STORES / "0.1.0-package.zip") as packed:
        packed.extractall(folder)
    return folder


@pytest.fixture(scope="session")
def killed_at(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Callable[..., bool]]:
    """Run a command that is killed before the n-th call of these functions; says whether it was killed.

    Functions are named with their module; without one they are of `os`.
    """
    answer = tmp_path_factory.mktemp("killed") / "answer"
    command = [sys.executable, "-c", textwrap.dedent(KILL)]
    environment = {**os.environ, "PYTHONPATH": "."}
    with subprocess.Popen(
        command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, env=environment
    ) as commands:

        def run(calls: str, turn: int, *arguments: object) -> bool:
            print(json.dumps([calls, turn, [*map(str, arguments)], str(answer)]), file=commands.stdin, flush=True)
            code = int(commands.stdout.readline())
            assert code in (0, -signal.SIGKILL), answer.read_text("utf-8")
            return code != 0

        yield run
