"""Repairs from their first assessment to their failure: which count, when they enter, and when nothing is drawn."""

from datetime import date

import numpy as np
import polars as pl
import pytest

from collection.as_of import as_known
from collection.risk.inspections import inspections
from collection.trends.parameters import trends
from collection.trends.repair_life import LIVES, Curve, curve, failure_rate, half_sentence, lives
from collection.trends.visits import visits
from tests.collection.risk.builders import check, register

DAY = date(2026, 1, 1)


def lives_of(repairs: list[dict], states: list[tuple[str, str, str]]) -> pl.DataFrame:
    """Lives of repairs of one object; states: day of the check, repair, stability."""
    days = sorted({day for day, _, _ in states})
    checks = [check(day, "O", day) for day in days]
    lines = [{"check_id": day, "repair_id": repair, "stability": state} for day, repair, state in states]
    full = [{"object_id": "O", "part": "whole", "function": "fill", "material": "wax"} | r for r in repairs]
    known = as_known(
        register(object=[{"object_id": "O"}], condition_check=checks, repair=full, repair_state=lines), DAY
    )
    return lives(known, visits(known, inspections(known)))


def test_a_failure_lies_between_the_last_sound_check_and_the_first_that_is_not():
    """By hand: made 1 January 2000, seen sound 2010 and ageing 2014, failing 2018: (14, 18] years, entered at 10."""
    row = lives_of(
        [{"repair_id": "R", "done_on": "2000-01-01"}],
        [("2010-01-01", "R", "sound"), ("2014-01-01", "R", "ageing"), ("2018-01-01", "R", "failing")],
    ).row(0, named=True)

    assert (row["low"], row["high"], row["entered"]) == pytest.approx((14, 18, 10), abs=0.01)
    assert row["dated"]


def test_one_that_still_holds_is_open_and_one_first_seen_failing_is_not_there():
    rows = lives_of(
        [{"repair_id": "A", "done_on": "2000-01-01"}, {"repair_id": "B", "done_on": "2000-01-01"}],
        [("2010-01-01", "A", "sound"), ("2010-01-01", "B", "failed"), ("2014-01-01", "B", "failed")],
    )

    assert rows["repair_id"].to_list() == ["A"]
    assert rows["high"].item() == np.inf


def test_without_a_day_of_making_it_counts_from_when_it_was_first_seen():
    row = lives_of([{"repair_id": "R"}], [("2010-01-01", "R", "sound"), ("2014-01-01", "R", "sound")]).row(
        0, named=True
    )

    assert not row["dated"]
    assert (row["entered"], row["low"]) == pytest.approx((0, 4), abs=0.01)


def test_one_dated_after_it_was_first_seen_enters_at_age_0():
    row = lives_of([{"repair_id": "R", "done_on": "2012-01-01"}], [("2010-01-01", "R", "sound")]).row(0, named=True)

    assert row["entered"] == 0


def table(rows: list[tuple[float, float, float]]) -> pl.DataFrame:
    """Lives of as many objects: low, high, entered."""
    full = [(f"R{n}", f"O{n}", "wax", "fill", True, *row) for n, row in enumerate(rows)]
    return pl.DataFrame(full, schema=LIVES, orient="row")


def test_a_rate_where_failures_lie_between_looks():
    """By hand: ten over one year each, three of which failed within it: exp(-rate) = 0.7."""
    rate = failure_rate(table([(0, 1, 0)] * 3 + [(1, np.inf, 0)] * 7), trends())

    assert rate.value == pytest.approx(-100 * np.log(0.7), rel=1e-6)
    assert rate.low < rate.value < rate.high
    drop = [
        np.log(0.3) * 3 + np.log(0.7) * 7 - (3 * np.log1p(-np.exp(-r)) - 7 * r)
        for r in (rate.low / 100, rate.high / 100)
    ]
    assert drop == pytest.approx(
        [1.352772] * 2, abs=1e-5
    )  # half the 90 % point of chi-squared with 1 degree of freedom


def test_nothing_failed_and_nobody_looked_twice():
    none = failure_rate(table([(5, np.inf, 0)] * 4), trends())

    assert (none.value, none.low) == (0, 0)
    assert none.high == pytest.approx(100 * 1.352772 / 20, rel=1e-4)
    assert failure_rate(table([(3, np.inf, 3)]), trends()).refused == "nobody looked twice"


def test_no_curve_of_too_few():
    assert "it takes 20 repairs with a date of making" in curve(
        table([(0, 1, 0)] * 9 + [(1, np.inf, 0)] * 30), trends()
    )
    assert "it takes 20 repairs with a date of making" in curve(table([(0, 1, 0)] * 19), trends())


def test_a_curve_ends_where_few_were_under_observation():
    random = np.random.default_rng(1)
    life = 12 * random.weibull(1.5, 60)
    looks = np.floor(life / 2.5) * 2.5
    rows = [(low, low + 2.5 if low < 15 else np.inf, 0.0) for low in np.minimum(looks, 15)]
    its = curve(table(rows), trends().model_copy(update={"resamples": 40}))

    assert isinstance(its, Curve)
    assert its.observed[0] == 60
    assert its.ends <= 18
    assert (its.low <= its.weibull.lasting(its.years) + 0.05).all()
    words = half_sentence(its, "wax fills")
    assert words.startswith("Half of the 60 wax fills had failed by")
    assert f"beyond {its.ends:.0f} years" in words
