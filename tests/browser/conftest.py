"""A server as `enamels dashboard` starts it, and a browser that may speak to this machine alone.

Without Chromium the journeys are skipped on a person's machine and fail in continuous integration.
"""

import contextlib
import os
import shutil
import socket
import subprocess
import time
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest

from collection.commands.dashboard import command
from collection.store import Store
from tests.browser.visit import PLANTED
from tests.dashboard.planted import plant

CHROMIUM = Path(os.environ.get("ENAMELS_CHROMIUM", "/usr/bin/chromium"))
FLAGS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
]  # fmt: skip


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if Path(__file__).parent in item.path.parents:
            item.add_marker(pytest.mark.browser)


@pytest.fixture(scope="session")
def chromium() -> Iterator[object]:
    if not CHROMIUM.exists():
        missing = f"there is no Chromium at {CHROMIUM} (or ENAMELS_CHROMIUM)"
        pytest.fail(missing) if os.environ.get("CI") else pytest.skip(missing)
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=str(CHROMIUM), args=FLAGS)
        yield browser
        browser.close()


@pytest.fixture(scope="session")
def profile(chromium) -> Iterator[object]:
    """A browser profile that keeps Streamlit's own files: each visit is a window of it that leaves nothing behind."""
    context = chromium.new_context()
    yield context
    context.close()


@pytest.fixture(scope="session")
def other_profile(chromium) -> Iterator[object]:
    """The profile of another browser, which knows nothing of the first."""
    context = chromium.new_context()
    yield context
    context.close()


@pytest.fixture(scope="session")
def address(demonstration: Store) -> Iterator[str]:
    with _served(demonstration) as at:
        yield at


@pytest.fixture(scope="module")
def planted_address(demonstration: Store, tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Pages of a store with every text of one object, and of what is no object, replaced by text to be obeyed."""
    store = Store(tmp_path_factory.mktemp("planted") / "enamels.duckdb")
    shutil.copyfile(demonstration.path, store.path)
    plant(store, store, [PLANTED])
    with _served(store) as at:
        yield at


@pytest.fixture(scope="session")
def settling(demonstration: Store, tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, Store]]:
    """Pages of a store of their own, to be written to."""
    store = Store(tmp_path_factory.mktemp("settling") / "enamels.duckdb")
    shutil.copyfile(demonstration.path, store.path)
    with _served(store) as at:
        yield at, store


@pytest.fixture
def empty_folder(tmp_path: Path) -> Iterator[tuple[str, Store]]:
    """Pages where there is no store yet."""
    store = Store(tmp_path / "enamels.duckdb")
    with _served(store) as at:
        yield at, store


@contextlib.contextmanager
def _served(store: Store) -> Iterator[str]:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    told = store.path.with_suffix(".told")
    with told.open("wb") as window:
        environment = {**os.environ, "ENAMELS_STORE": str(store.path)}
        server = subprocess.Popen(command(port), env=environment, stdout=subprocess.DEVNULL, stderr=window)
        try:
            _wait(f"http://127.0.0.1:{port}/_stcore/health")
            yield f"http://127.0.0.1:{port}"
        finally:
            server.terminate()
            server.wait(10)
    assert told.read_text("utf-8") == "", "warnings or faults in the window it was started from"


def _wait(url: str) -> None:
    for _ in range(600):
        try:
            urllib.request.urlopen(url, timeout=1).close()
        except OSError:
            time.sleep(0.05)
        else:
            return
    pytest.fail("the server did not start")
