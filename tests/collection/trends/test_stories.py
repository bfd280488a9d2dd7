"""Cells that stand out: the exact test and the correction against other programs, and no story where there is none."""

import numpy as np
import polars as pl
import pytest
from scipy.stats import binomtest, poisson

from collection.trends.parameters import trends
from collection.trends.stories import holm, stories, two_sided


def cells(*rows: tuple[str, int, float]) -> pl.DataFrame:
    return pl.DataFrame(list(rows), schema={"place": pl.String, "events": pl.Int64, "years": pl.Float64}, orient="row")


def test_ten_where_one_is_expected():
    """Worked case: 4.795389 to 18.390356 per 100, one-sided 1.114e-7 (Poisson), which survives 330 cells."""
    others = [(f"P{n}", 10, 1000.0) for n in range(329)]
    result = stories(cells(("damp", 10, 100.0), *others), trends()).filter(place="damp")

    assert (result["low"].item(), result["high"].item()) == pytest.approx((4.795389, 18.390356), abs=1e-6)
    assert poisson.sf(9, 1) == pytest.approx(1.114e-7, rel=1e-3)
    assert result["chance"].item() == pytest.approx(330 * 2 * poisson.sf(9, 1), rel=0.05)
    assert result["stands_out"].item()
    assert result["elsewhere"].item() == pytest.approx(1.0)


@pytest.mark.parametrize(("events", "total", "share"), [(10, 100, 0.02), (0, 60, 0.2), (7, 30, 0.25), (30, 30, 0.9)])
def test_the_exact_test_is_that_of_scipy_by_sides(events, total, share):
    """Reference: `scipy.stats.binomtest`, the smaller side doubled."""
    sides = [binomtest(events, total, share, alternative=side).pvalue for side in ("greater", "less")]

    assert two_sided([events], total, np.array([share]))[0] == pytest.approx(min(1.0, 2 * min(sides)))


def test_holm_by_hand():
    """Four chances by hand: 0.01 x 4, 0.013 x 3 but no less than the one before, 0.03 x 2, 0.04 x 1 no less."""
    assert holm(np.array([0.03, 0.01, 0.04, 0.013])) == pytest.approx([0.06, 0.04, 0.06, 0.04])


def test_cells_with_few_years_are_not_tested():
    result = stories(cells(("small", 5, 19.9), ("large", 1, 400.0)), trends())

    assert result["place"].to_list() == ["large"]


def test_no_story_where_there_is_none():
    """Of 200 collections without a story, one in twenty at most has one (the level of the correction)."""
    random, figures, told = np.random.default_rng(5), trends(), 0
    for _ in range(200):
        events = random.poisson(2.0, 40)
        rows = [(f"P{n}", int(k), 100.0) for n, k in enumerate(events)]
        told += stories(cells(*rows), figures)["stands_out"].any()
    assert told <= 200 * 0.05


def test_nothing_happened_and_nobody_looked():
    assert not stories(cells(("a", 0, 100.0), ("b", 0, 100.0)), trends())["stands_out"].any()
    assert stories(cells(), trends()).is_empty()
