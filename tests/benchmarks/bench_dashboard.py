"""How long a person waits for a page: beside a page with one chart and one table of the same size.

    python tests/benchmarks/bench_dashboard.py [STORE]

Nine interleaved starts of each server; all values are printed, and medians. Without a store the demonstration is built.
"""

import contextlib
import os
import re
import socket
import statistics
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Iterator
from pathlib import Path

from playwright.sync_api import Browser, Page, sync_playwright

from collection.commands.dashboard import command
from collection.commands.demo import build
from collection.store import Change, Store
from dashboard.serve import CONFIG
from tests.benchmarks.made_up import made_up

STARTS = int(os.environ.get("STARTS", "9"))
SLOW_MS = 60_000
SETTLED_MS = 1500  # a person has read the answer before asking again
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking"]
CHART = "document.querySelector('.vega-embed svg, .vega-embed canvas')"
TABLE = "document.querySelector('[data-testid=stDataFrame]')"
OURS = f"document.querySelector('[data-testid=stMain] .answer') && {CHART}"  # answer sentence and first picture
PLAIN = f"{CHART} && {TABLE}"
TRIVIAL = """
import altair as alt, polars as pl, streamlit as st
frame = pl.DataFrame({{"place": [str(n) for n in range(7)], "worth": list(range(7))}})
st.altair_chart(alt.Chart(frame).mark_bar().encode(x="worth:Q", y="place:N"))
st.dataframe(pl.DataFrame({{f"c{{n}}": ["about as long as it is"] * {rows} for n in range(11)}}))
"""


def free_port() -> int:
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        return int(found.getsockname()[1])


def timed(browser: Browser, arguments: list[str], port: int, store: Path, drawn: str) -> dict[str, float]:
    """From a server that listens to the page, and the same again; ours also with its list, and with a filter set."""
    started = time.perf_counter()
    with served(arguments, port, store) as address, browser.new_context() as context:
        page, up = context.new_page(), time.perf_counter()
        page.goto(address)
        page.wait_for_function(drawn, timeout=SLOW_MS)
        first = time.perf_counter()
        page.wait_for_timeout(SETTLED_MS)
        told = {"first": first - up, "from start": first - started, "warm": reloaded(page, drawn)}
        if drawn == PLAIN:
            return told
        page.wait_for_timeout(SETTLED_MS)
        return told | {"warm, with the list": reloaded(page, f"{OURS} && {TABLE}"), "filter": filter_change(page)}


@contextlib.contextmanager
def served(arguments: list[str], port: int, store: Path) -> Iterator[str]:
    env = {**os.environ, "ENAMELS_STORE": str(store)}
    server = subprocess.Popen(arguments, env=env, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    try:
        while True:
            try:
                urllib.request.urlopen(f"http://127.0.0.1:{port}/_stcore/health", timeout=1).close()
                break
            except OSError:
                time.sleep(0.05)
        yield f"http://127.0.0.1:{port}/"
    finally:
        server.terminate()
        server.wait()


def reloaded(page: Page, drawn: str) -> float:
    begun = time.perf_counter()
    page.reload()
    page.wait_for_function(drawn, timeout=SLOW_MS)
    return time.perf_counter() - begun


def filter_change(page: Page, words: str = "plaque") -> float:
    """Until the answer, and all else, is of what was asked for."""
    page.wait_for_timeout(SETTLED_MS)
    find = page.get_by_label("Find", exact=True)
    find.fill(words)
    begun = time.perf_counter()
    find.press("Enter")
    page.get_by_text(re.compile(f"^Shown: .*\\W{words}\\W")).wait_for(timeout=SLOW_MS)
    page.wait_for_function("!document.querySelector('[data-stale=true]')", timeout=SLOW_MS)
    return time.perf_counter() - begun


def trivial(port: int, folder: Path, rows: int) -> list[str]:
    (folder / "trivial.py").write_text(TRIVIAL.format(rows=rows))
    # As Streamlit runs a page by itself: how our server runs its pages is part of what is compared.
    plain = {name: value for name, value in CONFIG.items() if not name.startswith("runner.")}
    said = [f"--{name}={value}" for name, value in {**plain, "server.port": str(port)}.items()]
    return [sys.executable, "-m", "streamlit", "run", str(folder / "trivial.py"), *said]


def in_a_browser(browser: Browser, store: Path, rows: int) -> None:
    ours: list[dict[str, float]] = []
    plain: list[dict[str, float]] = []
    with tempfile.TemporaryDirectory() as folder:
        for _ in range(STARTS):
            port = free_port()
            ours.append(timed(browser, command(port), port, store, OURS))
            port = free_port()
            plain.append(timed(browser, trivial(port, Path(folder), rows), port, store, PLAIN))
    for name, values in (("storeroom", ours), ("trivial page", plain)):
        for what in values[0]:
            each = [v[what] for v in values]
            print(f"{name}, {what}: median {statistics.median(each):.2f} s of {[round(e, 2) for e in each]}")
    for what in plain[0]:
        print(
            f"ratio {what}: {statistics.median(v[what] for v in ours) / statistics.median(v[what] for v in plain):.2f}"
        )


def of_many(browser: Browser, objects: int = 20_000) -> None:
    """The storeroom page of many objects: warm, and each change of a filter."""
    with tempfile.TemporaryDirectory() as folder:
        store = Store(Path(folder) / "enamels.duckdb")
        made = made_up(objects, 5 * objects, objects)
        rows = {name: frame for name, frame in made.frames.items() if not frame.is_empty()}
        written = store.write(Change(rows), by="benchmark")
        assert not written.conflicts.height
        port = free_port()
        with served(command(port), port, store.path) as address, browser.new_context() as context:
            page = context.new_page()
            page.goto(address)
            page.wait_for_function(OURS, timeout=SLOW_MS)
            page.wait_for_timeout(SETTLED_MS)
            warm = [reloaded(page, f"{OURS} && {TABLE}") for _ in range(5)]
            asked = [filter_change(page, words) for words in ("1", "22", "O00", "9", "123")]
    print(f"{objects} objects, warm, with the list: {[round(t, 2) for t in warm]} s")
    print(f"{objects} objects, filter: {[round(t, 2) for t in asked]} s")


def main() -> None:
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=FLAGS)
        of_many(browser)
        store = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(folder) / "enamels.duckdb"
        if not store.exists():
            build(Store(store))
        in_a_browser(browser, store.resolve(), Store(store).read()["object"].height)


if __name__ == "__main__":
    main()
