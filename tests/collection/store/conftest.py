"""Stores to break: one of an earlier version, and a run of a command that is killed at an exact call."""

import gzip
import os
import shutil
import signal
import subprocess
import sys
import textwrap
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

KEPT_STORES = Path(__file__).parents[2] / "stores"

KILL = """
    import importlib, os, signal, sys
    names, turn = sys.argv[1], int(sys.argv[2])
    calls = [0]
    def counted(real):
        def call(*args, **kwargs):
            calls[0] += 1
            if calls[0] == turn:
                os.kill(os.getpid(), signal.SIGKILL)
            return real(*args, **kwargs)
        return call
    from collection.commands import cli
    for name in names.split(","):
        module, _, function = name.rpartition(".")
        owner = importlib.import_module(module or "os")
        setattr(owner, function, counted(getattr(owner, function)))
    sys.exit(cli.run(sys.argv[3:]))
"""


@pytest.fixture
def old_store(tmp_path: Path) -> Path:
    """A store that version 0.1.0 wrote, with rows of every record."""
    path = tmp_path / "old.duckdb"
    with gzip.open(KEPT_STORES / "0.1.0.duckdb.gz") as packed, path.open("wb") as whole:
        shutil.copyfileobj(packed, whole)
    return path


@pytest.fixture
def old_package(tmp_path: Path) -> Path:
    """The package that version 0.1.0 published of it."""
    folder = tmp_path / "old_package"
    with zipfile.ZipFile(KEPT_STORES / "0.1.0-package.zip") as packed:
        packed.extractall(folder)
    return folder


@pytest.fixture
def killed_at() -> Callable[..., bool]:
    """Run a command that is killed before the n-th call of these functions; says whether it was killed.

    Functions are named with their module; without one they are of `os`.
    """

    def run(calls: str, turn: int, *arguments: object) -> bool:
        command = [sys.executable, "-c", textwrap.dedent(KILL), calls, str(turn), *map(str, arguments)]
        done = subprocess.run(
            command, capture_output=True, text=True, check=False, env={**os.environ, "PYTHONPATH": "."}
        )
        assert done.returncode in (0, -signal.SIGKILL), done.stdout + done.stderr
        return done.returncode != 0

    return run
