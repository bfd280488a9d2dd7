"""Draws of the starting values at two sizes, each in a process of its own, and the list of a page; printed.

Run: python tests/benchmarks/bench_draws.py. Aims: 20,000 objects in 6 s; 100,000 objects with 300,000 hazards in 40 s
and 400 MB above what was loaded before; the question `ranking` at 20,000 objects in 1 s.
"""

import json
import resource
import subprocess
import sys
import time

import polars as pl
import pytest

from collection.as_of import as_known
from collection.pipeline import assess
from collection.questions.ranking import ranking
from collection.questions.triage import Triage
from collection.risk.draws import Drawing, draw
from collection.risk.rates import RatesTable
from collection.store.engines import PolarsEngine
from tests.benchmarks.made_up import AS_OF, made_up

SIZES = {20_000: (6, 400), 100_000: (40, 400)}  # objects: most seconds, most MB above what was loaded
HAZARDS_EACH = 3
RANKED, RANKING_MOST_S = 20_000, 1.0
FIRST = 20
MB = 1024


def triage_of(objects: int) -> Triage:
    """A made-up collection of about three hazards an object, assessed; half of it closed or seen twice."""
    known = as_known(made_up(objects, 5 * objects, objects), AS_OF)
    rates = RatesTable.of(known)
    return Triage.of(known, rates, assess(known, rates, PolarsEngine()))


def peak_mb() -> float:
    """Most memory this process ever held [MB]."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / MB


def held_mb() -> float:
    """Memory this process holds now [MB]."""
    with open("/proc/self/statm", encoding="ascii") as file:
        return int(file.read().split()[1]) * resource.getpagesize() / MB**2


def child(objects: int) -> None:
    """Draw in this process, print what it took as JSON; the frames are written and read anew, so that nothing else is
    held and the peak is that of the draws.
    """
    triage = triage_of(objects)
    hazards, rates = triage.risk.hazards.sort("object_id").head(HAZARDS_EACH * objects), triage.rates
    weights = triage.objects.select("object_id", weight="value_share")
    del triage
    with open("/proc/self/clear_refs", "w", encoding="ascii") as file:
        file.write("5")  # the peak is counted anew from here
    before = held_mb()
    start, worked = time.perf_counter(), time.process_time()
    drawn = draw(hazards, weights, rates, Drawing(first=FIRST))
    took, cpu = time.perf_counter() - start, time.process_time() - worked
    peak = peak_since()
    print(
        json.dumps(
            {
                "hazards": hazards.height,
                "objects": drawn.height,
                "s": took,
                "cpu_s": cpu,
                "before": before,
                "peak": peak,
            }
        )
    )


def peak_since() -> float:
    """Most memory held since the peak was counted anew [MB]."""
    with open("/proc/self/status", encoding="ascii") as file:
        return next(int(line.split()[1]) for line in file if line.startswith("VmHWM")) / MB


def drawn_in_a_child(objects: int) -> dict[str, float]:
    """What `child` printed."""
    done = subprocess.run(
        [sys.executable, "-m", "tests.benchmarks.bench_draws", str(objects)], capture_output=True, text=True, check=True
    )
    its: dict[str, float] = json.loads(done.stdout)
    above = its["peak"] - its["before"]
    words = f"{objects:,} objects, {its['hazards']:,} hazards: {its['s']:.1f} s ({its['cpu_s']:.1f} s of work), {above:.0f} MB above {its['before']:.0f} MB"
    sys.stdout.write(f"{words} (peak {its['peak']:.0f} MB)\n")
    return its | {"above": above}


@pytest.mark.benchmark
@pytest.mark.parametrize("objects", SIZES)
def test_draws_in_time_and_memory(objects: int) -> None:
    most_s, most_mb = SIZES[objects]
    its = drawn_in_a_child(objects)

    assert its["s"] < most_s
    assert its["above"] < most_mb


@pytest.mark.benchmark
def test_the_list_of_a_page_in_a_second() -> None:
    triage = triage_of(RANKED)
    times = []
    for _ in range(3):
        fresh = Triage(triage.collection, triage.risk, triage.rates, triage.classes)  # nothing worked out before
        start = time.perf_counter()
        rows = ranking(fresh, fresh.objects)
        times.append(time.perf_counter() - start)
        assert isinstance(rows, pl.DataFrame)
    sys.stdout.write(f"ranking of {RANKED:,} objects: {min(times):.2f} to {max(times):.2f} s\n")

    assert min(times) < RANKING_MOST_S


if __name__ == "__main__":
    if len(sys.argv) > 1:
        child(int(sys.argv[1]))
    else:
        for size in SIZES:
            drawn_in_a_child(size)
        test_the_list_of_a_page_in_a_second()
