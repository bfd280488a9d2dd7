"""Sizes, draws and estimates against published tables and worked examples of handbooks."""

import numpy as np
import polars as pl
import pytest

from collection.surveys import estimate
from collection.surveys.sampling import allocate, draw, draw_strata, endless_size, in_lot_order, margins, sample_size

CONFIDENCE = 0.95


@pytest.mark.parametrize(
    ("population", "size"), [(500, 218), (15, 15), (1000, 278), (640, 241), (100, 80), (5000, 357)]
)
def test_the_table_of_krejcie_and_morgan_rounded_up(population, size):
    """Krejcie & Morgan 1970 print 217 and 14, rounded to the nearest; a survey rounds up. 640: worked case."""
    assert sample_size(population, 0.5, 0.05, CONFIDENCE) == size


def test_a_population_without_end():
    """Cochran 1977, chapter 4."""
    assert endless_size(0.5, 0.05, CONFIDENCE) == pytest.approx(384.1459, abs=5e-5)
    assert endless_size(0.5, 0.04, CONFIDENCE) == pytest.approx(600.23, abs=5e-3)
    assert endless_size(0.5, 0.05, 0.99) == pytest.approx(663.49, abs=5e-3)


def test_the_margin_falls_to_nothing():
    table = margins(640, 0.5, CONFIDENCE, [30, 241, 640])

    assert table["margin"].is_sorted(descending=True)
    assert table["margin"][1] == pytest.approx(0.05, abs=5e-4)
    assert table["margin"][2] == 0


def test_allocation_with_costs():
    """Shares N S/sqrt(c) 18.710, 22.452, 16.839 of 58 (Scheaffer, Mendenhall & Ott, exercise): 19, 22, 17."""
    assert allocate(58, [1550, 620, 930], np.sqrt([25, 225, 100]), [9, 9, 16]) == [19, 22, 17]


def test_two_of_each_stratum_at_least_and_never_more_than_there_are():
    assert allocate(10, [1000, 3, 1], [1.0, 0.0, 0.0]) == [7, 2, 1]
    assert allocate(8, [4, 4], [1.0, 100.0]) == [4, 4]
    assert sum(allocate(29, [10, 20, 30], [0.0, 0.0, 0.0])) == 29
    with pytest.raises(ValueError, match="cannot be shared out"):
        allocate(3, [10, 10], [1.0, 1.0])


def units(n: int) -> pl.DataFrame:
    return pl.DataFrame({"unit_id": [f"O{i:05}" for i in range(n)]})


def test_same_seed_same_draw_and_later_units_move_nobody():
    order = in_lot_order(units(500), 7)["unit_id"]
    more = in_lot_order(units(700).sample(fraction=1, shuffle=True, seed=1), 7)["unit_id"]

    assert order.to_list() == more.filter(more.is_in(order.implode())).to_list()
    assert in_lot_order(units(500), 8)["unit_id"].to_list() != order.to_list()


def test_every_unit_has_the_same_chance():
    """Over 400 seeds each of 50 units is drawn about as often (chi-squared well within its limits)."""
    counts = pl.concat([draw(units(50), 10, seed) for seed in range(400)])["unit_id"].value_counts()["count"]

    assert ((counts - 80) ** 2 / 80).sum() < 90  # 49 degrees of freedom: .9997 point is about 88
    assert draw(units(50), 10, 1)["chance"].unique().to_list() == [0.2]


def test_each_stratum_gives_its_number():
    frame = units(60).with_columns(stratum=pl.Series(["a", "b", "c"] * 20))
    drawn = draw_strata(frame, {"a": 2, "b": 5, "c": 20}, 3)

    assert dict(drawn["stratum"].value_counts().iter_rows()) == {"a": 2, "b": 5, "c": 20}
    assert drawn.filter(stratum="b")["chance"].unique().to_list() == [0.25]


@pytest.mark.parametrize(
    ("events", "of", "wilson", "exact"),
    [
        (81, 263, (0.2553, 0.3662), (0.2527, 0.3676)),
        (15, 148, (0.0624, 0.1605), (0.0578, 0.1617)),
        (0, 20, (0, 0.1611), (0, 0.1684)),
        (1, 29, (0.0061, 0.1718), (0.0009, 0.1776)),
    ],
)
def test_limits_of_a_share(events, of, wilson, exact):
    """Newcombe, Statistics in Medicine 17 (1998) 857, methods 3 and 5."""
    its = estimate.share(events, of, CONFIDENCE)

    assert estimate.wilson(events, of, CONFIDENCE) == pytest.approx(wilson, abs=5.1e-5)
    expected = exact if min(events, of - events) <= 5 else wilson
    assert (its.low, its.high) == pytest.approx(expected, abs=5.1e-5)


TOWN_A = [35, 43, 36, 39, 28, 28, 29, 25, 38, 27, 26, 32, 29, 40, 35, 41, 37, 31, 45, 34]
TOWN_B = [27, 15, 4, 41, 49, 25, 10, 30]
RURAL = [8, 14, 12, 15, 30, 32, 21, 20, 34, 7, 11, 24]


def test_strata():
    """Scheaffer, Mendenhall & Ott, hours of television; Penn State STAT 506, example 6-1."""
    strata = [(155, TOWN_A), (62, TOWN_B), (93, RURAL)]
    its = estimate.stratified([(n, np.array(x, dtype=float)) for n, x in strata], CONFIDENCE)

    assert (its.value, its.variance, its.bound) == pytest.approx((27.675, 1.969519, 2.806791), abs=5e-6)
    assert its.n == 40


def test_a_stratum_with_one_unit_is_joined_and_said():
    strata = [(3, np.array([5.0])), (100, np.array([1.0, 2, 3])), (4, np.array([9.0]))]
    its = estimate.stratified(strata, CONFIDENCE)

    assert "2 strata with one unit joined" in its.method
    assert its.value == pytest.approx(np.mean([5, 1, 2, 3, 9]))
    with pytest.raises(ValueError, match="no stratum has two units"):
        estimate.stratified([(3, np.array([5.0]))], CONFIDENCE)


BLOCKS = [8, 12, 4, 5, 6, 6, 7, 5, 8, 3, 2, 6, 5, 10, 9, 3, 6, 5, 5, 4, 6, 8, 7, 3, 8]
INCOME = [96, 121, 42, 65, 52, 40, 75, 65, 45, 50, 85, 43, 54, 49, 53, 50, 32, 22, 45, 37, 51, 30, 39, 47, 41]


def test_clusters():
    """Scheaffer, Mendenhall & Ott, example 8.2: 25 of 415 blocks."""
    its = estimate.clusters(1000 * np.array(INCOME, dtype=float), np.array(BLOCKS, dtype=float), 415, CONFIDENCE)

    assert (its.value, its.bound) == pytest.approx((8801.3245, 1617.1397), abs=5e-5)


def test_two_stages_of_whole_clusters_are_clusters():
    random = np.random.default_rng(2)
    samples = [random.normal(3, 1, size) for size in (4, 6, 9, 5)]
    sizes = np.array([x.size for x in samples], dtype=float)
    one = estimate.two_stage(samples, sizes, 20, CONFIDENCE)
    other = estimate.clusters(np.array([x.sum() for x in samples]), sizes, 20, CONFIDENCE)

    assert (one.value, one.variance) == pytest.approx((other.value, other.variance))


def test_a_simple_sample_is_one_stratum():
    x = np.array(TOWN_A, dtype=float)
    one, other = estimate.simple(x, 155, CONFIDENCE), estimate.stratified([(155, x)], CONFIDENCE)

    assert (one.value, one.variance) == pytest.approx((other.value, other.variance))


def test_those_not_seen_are_bounds():
    """Worked case: 2,216 drawn, 212 not seen, 400 affected: .199601 of those seen, between .180505 and .276173."""
    assert estimate.share(400, 2216 - 212, CONFIDENCE).value == pytest.approx(0.199601, abs=5e-7)
    assert estimate.bounds(400, 2216 - 212, 2216) == pytest.approx((0.180505, 0.276173), abs=5e-7)


def test_a_share_by_design_is_within_0_and_1():
    its = estimate.share_of_design(0.02, 0.0004, 100, CONFIDENCE, "clusters by ratio")

    assert 0 < its.low < 0.02 < its.high < 1
    assert estimate.share_of_design(0.0, 0.0, 100, CONFIDENCE, "clusters by ratio").high == pytest.approx(
        0.0362, abs=5e-5
    )
