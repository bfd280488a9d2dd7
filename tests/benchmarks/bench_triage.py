"""Time and memory from a collection in memory to the ranked frame with its classes, stage by stage.

Run: python tests/benchmarks/bench_triage.py [OBJECTS ...]

Beside it stands the least any program could do with the same rows: read every record once and sort the objects.
"""

import resource
import statistics
import sys
import time
from collections.abc import Callable

import polars as pl

from collection.as_of import as_known
from collection.pipeline import assess
from collection.questions.triage import Triage
from collection.risk.object_risk import Risk
from collection.risk.rates import RatesTable
from collection.snapshot import Collection
from collection.store.engines import PolarsEngine
from tests.benchmarks.made_up import AS_OF, made_up

RUNS = 5


def scanned(collection: Collection) -> pl.DataFrame:
    """Every record joined to its object once, and the objects in an order: no rule, no rate."""
    of_object = [f for f in collection.frames.values() if "object_id" in f.columns and f.height]
    counted = [f.lazy().group_by("object_id").agg(pl.len().alias(f"n{i}")) for i, f in enumerate(of_object)]
    rows = collection["object"].lazy()
    for frame in counted:
        rows = rows.join(frame, on="object_id", how="left")
    return rows.sort("value_points", "object_id", descending=[True, False]).collect()


def seconds(run: Callable[[], object]) -> float:
    """Median wall time of several runs [s]."""
    times = []
    for _ in range(RUNS):
        start = time.perf_counter()
        run()
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def measure(objects: int) -> str:
    """One line for a collection of so many objects, five observations and one repair an object."""
    collection = made_up(objects, 5 * objects, objects)
    known = as_known(collection, AS_OF)
    rates = RatesTable.of(known)

    def risk() -> Risk:
        return assess(known, rates, PolarsEngine())

    first = risk()
    risk_s, classes_s = seconds(risk), seconds(lambda: Triage.of(known, rates, first).objects)
    scan_s = seconds(lambda: scanned(known))
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    total = risk_s + classes_s
    return (
        f"{objects:,} objects: risk {risk_s:.2f} s, classes and order {classes_s:.2f} s, together {total:.2f} s;"
        f" a plain scan {scan_s:.2f} s, ratio {total / scan_s:.0f}; peak {peak_mb:.0f} MB\n"
    )


if __name__ == "__main__":
    for number in [int(text) for text in sys.argv[1:]] or [640, 20_000, 100_000]:
        sys.stdout.write(measure(number))
