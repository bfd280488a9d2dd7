"""The pages stay while two processes write without pause: no fault, no lost write, an older state says so.

A minute of it in a browser is measured by tests/benchmarks/bench_writing.py.
"""

import re
import shutil
import time

from collection.store import Store
from tests.benchmarks.writers import lost, writing

SECONDS = 3
PAGES = ("storeroom", "condition", "work_waiting", "object")
HOW_MANY = re.compile(r"of ([\d,]+) objects have been checked")


def objects_told(words: str) -> int:
    return int(HOW_MANY.search(words).group(1).replace(",", ""))


def test_pages_answer_while_two_processes_write_and_nothing_is_lost(page, demonstration, tmp_path, said, answer):
    store = Store(tmp_path / "enamels.duckdb")
    shutil.copyfile(demonstration.path, store.path)
    before = objects_told(said(page("storeroom", store)))

    told, until = [], time.monotonic() + SECONDS
    with writing(store.path, tmp_path) as done:
        while time.monotonic() < until:
            for name in PAGES:
                app = page(name, store, **({"object_id": "1961.1"} if name == "object" else {}))
                assert not app.exception
                assert answer(app)
                assert "fault of the dashboard" not in said(app)
                told += [objects_told(said(app))] if name == "storeroom" else []
    after = said(page("storeroom", store))
    writes = [len(path.read_text("utf-8").splitlines()) for path in done]

    assert lost(store, done) == []
    assert min(writes) > 0
    assert told == sorted(told)
    assert objects_told(after) == before + sum(writes)
    assert "as read at" not in after
