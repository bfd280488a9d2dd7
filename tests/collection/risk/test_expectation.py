"""What an object nobody has checked is expected to lose: the worked case of the design, to the digits printed there.

Losses that rest on the mean above the limit were integrated there in steps and hold to two in a hundred thousand.

Kinds A (chance 0.1, gain 1e-4 a year), B (0.03, 3e-5), C (0.1, 1e-4); limit 0.001. First checks: A in room X .0012 .0015
.002 .004 .009 and 20 of .0001; A in Y .03 and 14 of .0001; B in Y 10 of .0001.
"""

import numpy as np
import polars as pl
import pytest

from collection.risk.expectation import GAINS, LOOKED, Expectation, expect, since
from collection.risk.unchecked import starting
from collection.risk.unchecked_parameters import UncheckedKind

A, B, C = range(3)
KINDS = tuple(
    UncheckedKind(name=name, chance_above_limit=chance, gain_per_year=gain)
    for name, chance, gain in (("A", 0.1, 1e-4), ("B", 0.03, 3e-5), ("C", 0.1, 1e-4))
)
LIMIT = 0.001
STEPS = 2e-5
FIRST = [
    *((A, "X", loss) for loss in (0.0012, 0.0015, 0.002, 0.004, 0.009, *[0.0001] * 20)),
    *((A, "Y", loss) for loss in (0.03, *[0.0001] * 14)),
    *((B, "Y", loss) for loss in [0.0001] * 10),
]
NEVER = {"A in X": (A, "X", 3, 1.0), "B in Y": (B, "Y", 5, 0.5), "C in Z": (C, "Z", 2, 1.0)}
SEEN_AGAIN = [(A, 0.012, 60.0), (B, 0.0, 40.0)]  # kind, gained, years


def learned(first, gains=()):
    looked = pl.DataFrame([(f"O{n}", *row) for n, row in enumerate(first)], schema=LOOKED, orient="row")
    pairs = pl.DataFrame(list(gains), schema=GAINS, orient="row")
    return expect(looked, pairs, starting().model_copy(update={"kind": KINDS}), LIMIT, [A, B, C])


def never(expected: Expectation, years=0.0, odds=1.0):
    kinds, rooms = np.array([k for k, *_ in NEVER.values()]), [room for _, room, *_ in NEVER.values()]
    return expected.never(kinds, rooms, np.full(3, years), np.full(3, odds), starting().chance_at_most)


@pytest.fixture(scope="module")
def worked():
    return learned(FIRST)


def test_chances_of_kinds_and_rooms(worked):
    assert worked.museum == pytest.approx(1.320755, abs=5e-7)
    assert worked.chance == pytest.approx([0.146415, 0.019811, 0.132075], abs=5e-7)
    assert worked.room == pytest.approx({"X": 1.100732, "Y": 0.889054}, abs=5e-7)


def test_sizes_above_and_below_the_limit(worked):
    assert worked.size_index == pytest.approx(0.829209, abs=5e-7)
    assert worked.above == pytest.approx(0.007772480, abs=5e-10)
    assert worked.below == pytest.approx(9.285714e-5, abs=5e-12)


def test_what_is_expected_of_those_never_checked(worked):
    losses = never(worked)
    worth = [count * worth for _, _, count, worth in NEVER.values()]

    assert losses == pytest.approx([0.001330530, 0.000228117, 0.001107146], rel=STEPS)
    assert (losses * worth).sum() == pytest.approx(0.006776198, rel=STEPS)
    chances = (losses - worked.below) / (worked.above - worked.below)
    assert chances == pytest.approx([0.161164, 0.017613, 0.132075], abs=5e-7)


@pytest.fixture(scope="module")
def grown():
    return learned(FIRST, SEEN_AGAIN)


def test_what_is_gained_a_year(grown):
    assert grown.gain == pytest.approx([1.299117e-4, 3.067783e-5, 1.158940e-4], abs=5e-11)
    assert grown.gain[C] / 1e-4 == pytest.approx(1.158940, abs=5e-7)  # the museum's factor on a kind never seen twice


def test_never_checked_eight_years_after_the_first_checks_of_its_kind(grown):
    assert never(grown, 8) == pytest.approx([0.002369827, 0.000473540, 0.002034298], rel=STEPS)


@pytest.mark.parametrize(
    ("years", "expected"),
    [(2, (2.460867e-4, 5.754708e-5, 2.190707e-4)), (10, (0.001000082, 0.000225799, 0.000883513)), (0, (0, 0, 0))],
)
def test_what_may_have_come_since_the_last_inspection(years, expected, grown):
    assert since(never(grown, 8), grown.gain, np.full(3, years)) == pytest.approx(expected, rel=STEPS)


def test_without_gain_nothing_comes():
    assert since(np.array([0.001, 0.0]), np.array([0.0, 1e-4]), np.array([5.0, 5.0])).tolist() == [0, 0]


def test_nobody_seen_at_all():
    nobody = learned([])

    assert nobody.museum == 1
    assert never(nobody) == pytest.approx([0.000585218, 0.000196561, 0.000585218], rel=STEPS)


def test_all_first_checks_zero():
    nothing = learned([(A, "X", 0.0)] * 40)

    assert nothing.size_index == 1
    assert nothing.above == pytest.approx(0.005582, abs=5e-7)


def test_a_size_above_the_largest_reckoned_with_counts_as_that():
    """0.9 counts as 0.26, which is 1 - exp(-0.3), rounded."""
    assert learned([(A, "X", 0.9)]).size_index == learned([(A, "X", 0.26)]).size_index


def test_a_chance_is_never_more_than_nine_tenths():
    worst = learned([(A, "X", 0.1)] * 500)

    assert never(worst)[0] == pytest.approx(0.9 * worst.above + 0.1 * worst.below)
    assert worst.chance[C] <= 0.9


def test_odds_multiply_the_odds_not_the_chance(worked):
    """0.161164 at odds 10: 1.61164 / (0.838836 + 1.61164) = 0.657684."""
    chance = (never(worked, odds=10)[0] - worked.below) / (worked.above - worked.below)

    assert chance == pytest.approx(1.61164 / (1 - 0.161164 + 1.61164), abs=1e-6)
