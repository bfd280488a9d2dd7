"""The demonstration brought into a store once for all tests of it."""

import csv
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import polars as pl
import pytest

from collection import pipeline
from collection.intake import pipeline as path
from collection.intake.mapping import mapping
from collection.store import Store
from collection.store.engines import PolarsEngine
from demo_collection import manifest

TODAY = date(2026, 9, 30)


@dataclass(frozen=True)
class BroughtIn:
    """The store, counts of outcomes a file, problems, and rows set aside."""

    store: Store
    files: pl.DataFrame
    problems: pl.DataFrame
    refused: pl.DataFrame


@pytest.fixture(scope="session")
def brought_in(tmp_path_factory) -> BroughtIn:
    store = Store(tmp_path_factory.mktemp("demo") / "register.duckdb")
    files, problems, refused = [], [], []
    for delivery in manifest.DELIVERIES:
        held = path.held_or_empty(store)
        saved = mapping.load(manifest.FILES / delivery.mapping) if delivery.mapping else None
        opened = path.open_files(delivery.paths, held, delivery.record, saved)
        done = path.intake(store, opened, held, by="demonstration", today=TODAY)
        names = {s.first.sha256: s.path.name for s in opened.sources}
        files.append(done.files)
        problems.append(done.problems)
        refused.append(done.refused.with_columns(file=pl.col("sha256").replace_strict(names, return_dtype=pl.String)))
    for name in manifest.CLIMATE_FILES:
        store.write_readings(manifest.climate_frames(name), name, manifest.climate_digest(name), by="demonstration")
    return BroughtIn(store, pl.concat(files), pl.concat(problems), pl.concat(refused))


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
