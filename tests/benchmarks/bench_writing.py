"""Writing: pages read meanwhile, ten writers at once, and one small write into a large register.

    python -m tests.benchmarks.bench_writing pages|writers|small [SECONDS]

`pages` needs a browser. Ends with an error when a write is lost or a page shows a fault.
"""

import statistics
import subprocess
import sys
import tempfile
import time
from itertools import cycle
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

from collection.commands.dashboard import command
from collection.commands.demo import build
from collection.store import Change, Store
from schemas.errors import SourceRefused
from tests.benchmarks.bench_dashboard import FLAGS, SLOW_MS, free_port, served
from tests.benchmarks.made_up import made_up
from tests.benchmarks.writers import COMMAND, OF_THIS_TREE, lost, seconds, writing

VISITED = (
    "",
    "condition",
    "not_yet_checked",
    "work_waiting",
    "not_taken_in",
    "object?object_id=1961.1",
    "?find=plaque",
)
ANSWER = "[data-testid=stMain] .answer"
FAULT = "[data-testid=stException], :text('fault of the dashboard')"
OLDER = ".warn:has-text('as read at')"


def visit(page: Page, address: str, path: str) -> dict[str, float | bool]:
    """Open a page anew; seconds to its answer, whether it shows a fault, whether it says that it is older."""
    begun = time.perf_counter()
    page.goto(f"{address}{path}")
    page.locator(ANSWER).first.wait_for(timeout=SLOW_MS)
    waited = time.perf_counter() - begun
    page.wait_for_function("!document.querySelector('[data-testid=stStatusWidget]')", timeout=SLOW_MS)
    return {"s": waited, "fault": page.locator(FAULT).count() > 0, "older": page.locator(OLDER).count() > 0}


def pages(until_s: float) -> None:
    """Build, serve, write, visit, count."""
    faults: list[str] = []
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        store, port = Store(Path(folder) / "enamels.duckdb"), free_port()
        build(store)
        page = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=FLAGS).new_page()
        page.on("pageerror", lambda error: faults.append(str(error)))
        with served(command(port), port, store.path) as address:
            visit(page, address, "")
            with writing(store.path, Path(folder)) as done:
                until, visits = time.monotonic() + until_s, []
                for path in cycle(VISITED):
                    visits.append(visit(page, address, path))
                    if time.monotonic() > until:
                        break
            after = visit(page, address, "")
        missing = lost(store, done)
        report(visits, faults, [len(p.read_text("utf-8").splitlines()) for p in done], missing)
    if faults or missing or after["older"] or any(v["fault"] for v in visits):
        sys.exit(1)


def report(visits: list[dict[str, float | bool]], faults: list[str], writes: list[int], missing: list[str]) -> None:
    """Print what was counted."""
    waits = sorted(float(v["s"]) for v in visits)
    print(f"writes acknowledged: intake command {writes[0]}, Store.write {writes[1]}; lost: {len(missing)}")
    print(f"visits {len(visits)}, with a fault {sum(map(bool, (v['fault'] for v in visits)))}, in the console {faults}")
    print(f"told an older state with its time: {sum(bool(v['older']) for v in visits)}")
    print(
        f"to the answer: median {statistics.median(waits):.2f} s, 95 % {waits[int(len(waits) * 0.95)]:.2f} s, longest {waits[-1]:.2f} s"
    )


def writers(until_s: float, count: int = 10) -> None:
    """Ten commands at once on the demonstration, again and again."""
    with tempfile.TemporaryDirectory() as folder:
        store = Store(Path(folder) / "enamels.duckdb")
        build(store)
        with writing(store.path, Path(folder), [f"intake{n}" for n in range(count)]) as done:
            time.sleep(until_s)
        missing, took = lost(store, done), seconds(done)
        numbers = store.read_journal()["seq"].to_list()
    gaps = numbers != list(range(1, len(numbers) + 1))
    print(f"{count} writers: {len(took)} writes, lost {len(missing)}, gaps in the journal: {gaps}")
    print(f"median {statistics.median(took):.2f} s, 95 % {took[int(len(took) * 0.95)]:.2f} s, longest {took[-1]:.2f} s")
    if missing or gaps:
        sys.exit(1)


SMALL = {
    "object": "object_id,location_id\nO{0:07d},L0000003\n",
    "condition_check": "object_id,checked_on,look,grade\nO{0:07d},2026-11-20,inspection,good\n",
}


def small(until_s: float) -> None:
    """A new place, and a check, into 200,000 objects with 1,000,000 observations, beside the same into no store."""
    with tempfile.TemporaryDirectory() as folder:
        store = Store(Path(folder) / "enamels.duckdb")
        large = made_up(200_000, 1_000_000, 100_000).frames
        rows = {n: f.drop("row_version") for n, f in large.items() if f.height}
        store.write(Change(rows, from_file=True), by="made up")
        took: dict[str, list[tuple[float, float]]] = {name: [] for name in SMALL}
        until, count = time.monotonic() + until_s, 0
        while not count or time.monotonic() < until:
            count += 1
            for name, text in SMALL.items():
                sheet, none = Path(folder) / f"{name}.csv", Path(folder) / f"none{count}{name}.duckdb"
                sheet.write_text(text.format(count), "utf-8")
                asked = ("intake", str(sheet), "--as", name, "--yes", "--store")
                took[name].append((_timed(*asked, str(store.path)), _timed(*asked, str(none), may_refuse=True)))
    for name, pairs in took.items():
        write, start = (statistics.median(times) for times in zip(*pairs, strict=True))
        print(f"one {name}: {write:.2f} s, into no store {start:.2f} s: {write / start:.2f} times")


def _timed(*arguments: str, may_refuse: bool = False) -> float:
    """Seconds of one command; where there is no store a row is refused for what it points to."""
    begun = time.perf_counter()
    done = subprocess.run([sys.executable, "-c", COMMAND, *arguments], capture_output=True, env=OF_THIS_TREE)
    assert done.returncode == 0 or (may_refuse and done.returncode == SourceRefused.code), done.stderr
    return time.perf_counter() - begun


if __name__ == "__main__":
    chosen = {"pages": pages, "writers": writers, "small": small}[sys.argv[1] if len(sys.argv) > 1 else "pages"]
    chosen(float(sys.argv[2]) if len(sys.argv) > 2 else 60)
