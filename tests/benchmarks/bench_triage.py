"""Time and memory from a collection in memory to the ranked frame with its classes, stage by stage.

Run: python -m tests.benchmarks.bench_triage [OBJECTS ...]

The stage from records to the risk of each object stands beside the same written by hand, both found equal first and
timed in turn in one run.
"""

import resource
import statistics
import sys
import time
from collections.abc import Callable

import polars as pl
from polars.testing import assert_frame_equal

from collection.as_of import as_known
from collection.pipeline import assess
from collection.questions.triage import Triage
from collection.risk.hazards import hazards
from collection.risk.inspections import inspections, known, looks
from collection.risk.object_risk import object_risk
from collection.risk.rates import RatesTable
from collection.snapshot import Collection
from collection.store.engines import PolarsEngine
from tests.benchmarks.by_hand import COLUMNS, risk_by_hand
from tests.benchmarks.made_up import AS_OF, made_up

RUNS = 5


def beside_by_hand(collection: Collection, rates: RatesTable) -> tuple[float, float]:
    """Median wall times [s] of records to risk, by the register and by hand, after both were found equal."""
    engine, checks = PolarsEngine(), inspections(collection)
    objects = known(collection, checks, looks(checks), rates)

    def ours() -> pl.DataFrame:
        f = {**engine.frames(collection), **engine.to_lazy({**rates.tables(), "checks": checks})}
        rows = engine.collect(hazards(f, rates, None, engine.hold))
        g = engine.to_lazy({"hazards": rows, "objects": objects})
        return engine.collect(object_risk(g["hazards"], g["objects"], rates))

    def hand() -> pl.DataFrame:
        return risk_by_hand(collection, checks, objects, rates)

    one, other = (run().sort("object_id").select(COLUMNS) for run in (ours, hand))
    assert_frame_equal(one, other, check_dtypes=False, rel_tol=1e-9, abs_tol=1e-15)
    pairs = [(seconds(ours), seconds(hand)) for _ in range(RUNS)]
    first, second = (statistics.median(times) for times in zip(*pairs, strict=True))
    return first, second


def seconds(run: Callable[[], object], runs: int = 1) -> float:
    """Median wall time of several runs [s]."""
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        run()
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def measure(objects: int) -> str:
    """Two lines for a collection of so many objects, five observations and one repair an object."""
    collection = as_known(made_up(objects, 5 * objects, objects), AS_OF)
    rates = RatesTable.of(collection)
    first = assess(collection, rates, PolarsEngine())
    risk_s = seconds(lambda: assess(collection, rates, PolarsEngine()), RUNS)
    classes_s = seconds(lambda: Triage.of(collection, rates, first).objects, RUNS)
    ours_s, hand_s = beside_by_hand(collection, rates)
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return (
        f"{objects:,} objects: risk {risk_s:.2f} s, classes and order {classes_s:.2f} s; peak {peak_mb:.0f} MB\n"
        f"  records to risk {ours_s:.3f} s, by hand {hand_s:.3f} s, ratio {ours_s / hand_s:.2f}\n"
    )


if __name__ == "__main__":
    for number in [int(text) for text in sys.argv[1:]] or [640, 20_000, 100_000]:
        sys.stdout.write(measure(number))
