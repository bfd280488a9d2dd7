"""How long a person waits for a page: beside a page with one chart and one table of the same size.

    python tests/benchmarks/bench_dashboard.py [STORE]

Nine interleaved starts of each server; all values are printed, and medians. Without a store the demonstration is built.
"""

import os
import socket
import statistics
import subprocess
import sys
import tempfile
import time
import urllib.request
from pathlib import Path

import polars as pl
from playwright.sync_api import Browser, sync_playwright

from collection.commands.dashboard_command import OPTIONS, command
from collection.commands.demo_command import _build
from collection.pipeline import assess
from collection.questions import ranked, storeroom
from collection.questions.selection import Selection, select
from collection.questions.triage import triage
from collection.risk.rates import RatesTable
from collection.store import Store
from collection.store.engines import PolarsEngine
from tests.benchmarks.made_up import AS_OF, made_up

STARTS = int(os.environ.get("STARTS", "9"))
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking"]
DRAWN = "document.querySelector('.vega-embed svg, .vega-embed canvas') && document.querySelector('[data-testid=stDataFrame]')"
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


def timed(browser: Browser, arguments: list[str], port: int, store: Path, filtered: bool) -> dict[str, float]:
    started = time.perf_counter()
    env = {**os.environ, "ENAMELS_STORE": str(store)}
    server = subprocess.Popen(arguments, env=env, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    page = browser.new_context().new_page()
    try:
        while True:
            try:
                urllib.request.urlopen(f"http://127.0.0.1:{port}/_stcore/health", timeout=1).close()
                break
            except OSError:
                time.sleep(0.05)
        up = time.perf_counter()
        page.goto(f"http://127.0.0.1:{port}/")
        page.wait_for_function(DRAWN, timeout=60_000)
        first = time.perf_counter()
        page.reload()
        page.wait_for_function(DRAWN, timeout=60_000)
        told = {"first": first - up, "from start": first - started, "warm": time.perf_counter() - first}
        return told | ({"filter": filter_change(page)} if filtered else {})
    finally:
        page.context.close()
        server.terminate()
        server.wait()


def filter_change(page) -> float:
    find = page.get_by_label("Find in number and title")
    find.fill("plaque")
    begun = time.perf_counter()
    find.press("Enter")
    page.get_by_text("Shown:").wait_for(timeout=60_000)
    return time.perf_counter() - begun


def trivial(port: int, folder: Path, rows: int) -> list[str]:
    (folder / "trivial.py").write_text(TRIVIAL.format(rows=rows))
    said = [f"--{name}={value}" for name, value in {**OPTIONS, "server.port": str(port)}.items()]
    return [sys.executable, "-m", "streamlit", "run", str(folder / "trivial.py"), *said]


def in_a_browser(store: Path, rows: int) -> None:
    ours: list[dict[str, float]] = []
    plain: list[dict[str, float]] = []
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=FLAGS)
        for _ in range(STARTS):
            port = free_port()
            ours.append(timed(browser, command(port), port, store, True))
            port = free_port()
            plain.append(timed(browser, trivial(port, Path(folder), rows), port, store, False))
    for name, values in (("storeroom", ours), ("trivial page", plain)):
        for what in values[0]:
            each = [v[what] for v in values]
            print(f"{name}, {what}: median {statistics.median(each):.2f} s of {[round(e, 2) for e in each]}")
    for what in plain[0]:
        print(
            f"ratio {what}: {statistics.median(v[what] for v in ours) / statistics.median(v[what] for v in plain):.2f}"
        )


def of_20_000() -> None:
    """The questions of the storeroom page for 20,000 objects."""
    made = made_up(20_000, 100_000, 20_000)
    rates = RatesTable.of(made)
    begun = time.perf_counter()
    found = triage(made, rates, assess(made, rates, PolarsEngine(), AS_OF))
    print(f"20,000 objects assessed: {time.perf_counter() - begun:.2f} s")
    for selection in (Selection(), Selection(find="1")):
        begun = time.perf_counter()
        chosen = select(found, selection)
        ranked.answer(found, ranked.ranked(found, chosen))
        storeroom.by_location(found, chosen)
        print(f"20,000 objects, {selection}: {chosen.height} chosen, {time.perf_counter() - begun:.2f} s")


def main() -> None:
    of_20_000()
    with tempfile.TemporaryDirectory() as folder:
        store = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(folder) / "enamels.duckdb"
        if not store.exists():
            _build(Store(store))
        in_a_browser(store.resolve(), Store(store).read()["object"].height)


if __name__ == "__main__":
    pl.Config.set_tbl_rows(5)
    main()
