"""The demonstration, and what bringing it in answered."""

import csv
from dataclasses import dataclass
from pathlib import Path

import polars as pl
import pytest

from collection import pipeline
from collection.store import Store
from collection.store.engines import PolarsEngine
from tests.demonstration import KEPT, TODAY


@dataclass(frozen=True)
class BroughtIn:
    """The store, counts of outcomes a file, problems, and rows set aside."""

    store: Store
    files: pl.DataFrame
    problems: pl.DataFrame
    refused: pl.DataFrame


@pytest.fixture(scope="session")
def brought_in(built, demonstration) -> BroughtIn:
    return BroughtIn(demonstration, *(built.kept(name) for name in KEPT))


@pytest.fixture(scope="session")
def register(brought_in):
    return brought_in.store.read()


@pytest.fixture(scope="session")
def ranked(brought_in):
    return pipeline.assess_store(brought_in.store, lambda _: TODAY, PolarsEngine())


@pytest.fixture(scope="session")
def listed_mistakes():
    with (Path(__file__).parent / "refused_rows.csv").open(newline="") as handle:
        return list(csv.DictReader(handle))
