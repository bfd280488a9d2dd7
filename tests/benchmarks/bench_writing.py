"""The pages while two processes write without pause: faults, what a person waits, how often an older state is told.

    python -m tests.benchmarks.bench_writing [SECONDS]

Ends with an error when a write is lost or a page shows a fault.
"""

import statistics
import sys
import tempfile
import time
from itertools import cycle
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

from collection.commands.dashboard import command
from collection.commands.demo import build
from collection.store import Store
from tests.benchmarks.bench_dashboard import FLAGS, SLOW_MS, free_port, served
from tests.benchmarks.writers import lost, writing

VISITED = ("", "condition", "not_yet_seen", "backlog", "refused", "object?object_id=1961.1", "?find=plaque")
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


def main(seconds: float) -> None:
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
                until, visits = time.monotonic() + seconds, []
                for path in cycle(VISITED):
                    visits.append(visit(page, address, path))
                    if time.monotonic() > until:
                        break
            after = visit(page, address, "")
        missing = lost(store, done)
        told(visits, faults, [len(p.read_text("utf-8").split()) for p in done], missing)
    if faults or missing or after["older"] or any(v["fault"] for v in visits):
        sys.exit(1)


def told(visits: list[dict[str, float | bool]], faults: list[str], writes: list[int], missing: list[str]) -> None:
    """Print what was counted."""
    waits = sorted(float(v["s"]) for v in visits)
    print(f"writes acknowledged: intake command {writes[0]}, Store.write {writes[1]}; lost: {len(missing)}")
    print(f"visits {len(visits)}, with a fault {sum(map(bool, (v['fault'] for v in visits)))}, in the console {faults}")
    print(f"told an older state with its time: {sum(bool(v['older']) for v in visits)}")
    print(
        f"to the answer: median {statistics.median(waits):.2f} s, 95 % {waits[int(len(waits) * 0.95)]:.2f} s, longest {waits[-1]:.2f} s"
    )


if __name__ == "__main__":
    main(float(sys.argv[1]) if len(sys.argv) > 1 else 60)
