"""Fixtures: the small collection, and the tools that judge a PDF from outside."""

import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path

import polars as pl
import pytest

from collection.questions.triage import Triage
from collection.snapshot import Collection
from tests.collection.documents.builders import DAY, small_collection
from tests.collection.risk.builders import triaged


@pytest.fixture
def small() -> dict[str, pl.DataFrame]:
    return small_collection()


@pytest.fixture
def collected(small) -> Collection:
    return Collection.of(small)


@pytest.fixture(scope="session")
def triage() -> Triage:
    """The small collection, assessed; frames are never changed in place."""
    return triaged(Collection.of(small_collection()), DAY)


@pytest.fixture
def tool() -> Callable[..., str]:
    """Run a tool that judges a PDF; one that is not installed fails the test, it is never skipped."""

    def run(*command: str | Path) -> str:
        assert shutil.which(str(command[0])), f"{command[0]} is not installed (apt: poppler-utils, qpdf)"
        return subprocess.run([str(part) for part in command], capture_output=True, check=True).stdout.decode(
            "utf-8", "replace"
        )

    return run
