"""Fixtures: a store with the places of loggers."""

import shutil

import pytest

from collection.store import Change, Store
from tests.collection.intake.logger_files import PLACES


@pytest.fixture(scope="module")
def furnished(tmp_path_factory: pytest.TempPathFactory) -> Store:
    """A store with the places; to be copied and never written to."""
    store = Store(tmp_path_factory.mktemp("places") / "enamels.duckdb")
    store.write(Change({"location": PLACES}), by="ada")
    return store


@pytest.fixture
def housed(store: Store, furnished: Store) -> Store:
    """The store, with the places."""
    shutil.copyfile(furnished.path, store.path)
    return store
