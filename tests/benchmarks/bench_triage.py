"""Time from a collection in memory to the ranked frame with attention classes, beside the same written by hand.

Run: python tests/benchmarks/bench_triage.py, or python -m pytest tests/benchmarks/bench_triage.py -s
"""

import statistics
import sys
import time
from collections.abc import Callable

import polars as pl
import pytest
from polars.testing import assert_frame_equal

from collection.as_of import as_known
from collection.pipeline import assess
from collection.questions.triage import Triage
from collection.risk.rates import RatesTable
from collection.snapshot import Collection
from collection.store.engines import PolarsEngine
from tests.benchmarks.by_hand import ranked_by_hand
from tests.benchmarks.made_up import AS_OF, made_up

RUNS = 7
MOST = 1.3  # times the hand-written query


def ranked_frame(collection: Collection, rates: RatesTable) -> pl.DataFrame:
    """The ranked frame with attention classes, as triage uses it."""
    known = as_known(collection, AS_OF)
    return Triage.of(known, rates, assess(known, rates, PolarsEngine())).objects.drop("first_step")


def measured() -> tuple[float, float]:
    """Medians of the register and of the hand-written query [s], interleaved, after both frames were found equal."""
    collection = made_up(100_000, 500_000, 100_000)
    rates = RatesTable.of(collection)
    one, other = ranked_frame(collection, rates), ranked_by_hand(collection, rates, AS_OF)
    assert one["object_id"].to_list() == other["object_id"].to_list()
    assert_frame_equal(one, other, rel_tol=1e-9)
    ours, hand = [], []
    for _ in range(RUNS):
        ours.append(seconds(lambda: ranked_frame(collection, rates)))
        hand.append(seconds(lambda: ranked_by_hand(collection, rates, AS_OF)))
    return statistics.median(ours), statistics.median(hand)


def seconds(run: Callable[[], object]) -> float:
    """Wall time of one run [s]."""
    start = time.perf_counter()
    run()
    return time.perf_counter() - start


@pytest.mark.benchmark
def test_triage_of_100_000_objects_takes_at_most_three_tenths_longer_than_by_hand() -> None:
    ours, hand = measured()
    words = f"triage {ours:.3f} s, by hand {hand:.3f} s, ratio {ours / hand:.2f} (medians of {RUNS}, interleaved)\n"
    sys.stdout.write(words)

    assert ours / hand <= MOST


if __name__ == "__main__":
    test_triage_of_100_000_objects_takes_at_most_three_tenths_longer_than_by_hand()
