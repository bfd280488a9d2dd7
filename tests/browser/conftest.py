"""A server as `enamels dashboard` starts it, and a browser that may speak to this machine alone.

Without Chromium the journeys are skipped on a person's machine and fail in continuous integration.
"""

import os
import socket
import subprocess
import time
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import polars as pl
import pytest

from collection.commands.dashboard_command import command
from collection.commands.demo_command import _build
from collection.store import Change, Store

CHROMIUM = Path(os.environ.get("ENAMELS_CHROMIUM", "/usr/bin/chromium"))
FLAGS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
]  # fmt: skip
HOSTILE = "![x](http://evil.invalid/a.png) <img src=http://evil.invalid/b> $x$ :red[red] :material/home: http://evil.invalid/c"


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if Path(__file__).parent in item.path.parents:
            item.add_marker(pytest.mark.browser)
            item.add_marker(pytest.mark.xdist_group("browser"))  # one server and one browser, in one worker
    items.sort(key=lambda item: item.get_closest_marker("browser") is None)  # the longest group begins first


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
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    store = Store(tmp_path_factory.mktemp("browser") / "enamels.duckdb")
    _build(store)
    hostile = store.read()["object"].filter(object_id="1951.222").select("object_id", "row_version")
    store.write(Change({"object": hostile.with_columns(title=pl.lit(HOSTILE))}), by="tester")
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
    server = subprocess.Popen(command(port), env={**os.environ, "ENAMELS_STORE": str(store.path)}, **quiet)
    _wait(f"http://127.0.0.1:{port}/_stcore/health")
    yield f"http://127.0.0.1:{port}"
    server.terminate()
    server.wait(10)


def _wait(url: str) -> None:
    for _ in range(150):
        try:
            urllib.request.urlopen(url, timeout=1).close()
        except OSError:
            time.sleep(0.2)
        else:
            return
    pytest.fail("the server did not start")
