"""What came of each object, how far a survey is, and what it says of all: by design, or why not."""

from datetime import date

import numpy as np
import polars as pl
import pytest

from collection.surveys.design import FRAME, Design, drawn, groups
from collection.surveys.outcomes import outcomes, progress
from collection.surveys.results import ALL_SEEN, MORE_NOT_SEEN, NO_CHANCES, NOBODY, ONE_PLACE, results

DAY = date(2026, 3, 1)
CHECKS = {"object_id": pl.String, "check_id": pl.String, "visit": pl.String, "seen_on": pl.Date}


def units(number, chance=1.0, **more):
    columns = {"stratum": None, "cluster": None, "cluster_chance": None, "draw_order": None, "outcome": None} | more
    frame = (
        pl.DataFrame({"unit_id": pl.Series([f"O{n:04}" for n in range(number)], dtype=pl.String)})
        .with_columns(chance=pl.lit(chance))
        .with_columns(*(pl.Series(n, v) if isinstance(v, list) else pl.lit(v).alias(n) for n, v in columns.items()))
    )
    types = {"stratum": pl.String, "cluster": pl.String, "cluster_chance": pl.Float64, "outcome": pl.String}
    return frame.cast(types | {"chance": pl.Float64, "draw_order": pl.Int64})


def checks(*rows):
    return pl.DataFrame([(f"O{n:04}", f"k{n}", visit, day) for n, visit, day in rows], schema=CHECKS, orient="row")


def looked(its, seen, visit="examined", day=DAY):
    return outcomes(its, checks(*((n, visit, day) for n in seen)))


def answers(yes, of):
    schema = {"unit_id": pl.String, "affected": pl.Boolean}
    return pl.DataFrame([(f"O{n:04}", n in yes) for n in of], schema=schema, orient="row")


def test_a_check_says_what_came_of_it_and_goes_before_what_was_written():
    its = units(6, outcome=[None, "refused", "refused", None, None, None])
    rows = outcomes(its, checks((2, None, DAY), (3, "not_found", DAY), (4, "through_glass", DAY), (5, "examined", DAY)))

    assert rows["outcome"].to_list() == ["open", "refused", "done", "not_found", "through_glass", "done"]


def test_of_two_checks_the_latest_counts():
    rows = outcomes(units(1), checks((0, "not_found", DAY), (0, "examined", date(2026, 4, 1))))

    assert rows.select("outcome", "seen_on").row(0) == ("done", date(2026, 4, 1))


def test_the_end_is_forecast_from_the_pace_so_far_with_limits():
    """10 looked at in 10 days, 20 wait: 20 days more; 10 at .90 is 5.425406 to 16.962219 (Garwood 1936, computed)."""
    its = looked(units(30), range(10), day=date(2026, 3, 5))
    far = progress(its, date(2026, 3, 1), date(2026, 3, 10), 0.9)

    assert (far.drawn, far.done, far.waiting) == (30, 10, 20)
    assert far.ends == date(2026, 3, 30)
    assert far.earliest == date(2026, 3, 21)  # 20 x 10/16.962219 = 11.79 days
    assert far.latest == date(2026, 4, 15)  # 20 x 10/5.425406 = 36.86 days


def test_nothing_is_forecast_where_nobody_began_or_nothing_waits():
    assert progress(looked(units(3), []), DAY, DAY, 0.9).ends is None
    assert progress(looked(units(3), range(3)), DAY, DAY, 0.9).ends is None
    assert progress(looked(units(0), []), None, DAY, 0.9).drawn == 0


def test_what_was_not_found_widens_the_bounds_and_not_the_share():
    """2,216 drawn, 212 not found, 400 affected: .199601 of those seen; bounds .180505 and .276173 (reckoned by hand)."""
    rows = [(n, "not_found" if n < 212 else "examined", DAY) for n in range(2216)]
    its = outcomes(units(2216, 0.1), checks(*rows))
    (row,) = results(its, answers(range(212, 612), range(212, 2216)), "simple", 0.95).to_dicts()

    assert (row["n"], row["affected"], row["not_seen"]) == (2004, 400, 212)
    assert row["value"] == pytest.approx(0.199601, abs=1e-6)
    assert (row["least"], row["most"]) == (pytest.approx(0.180505, abs=1e-6), pytest.approx(0.276173, abs=1e-6))
    assert row["method"] == "Wilson's limits"


@pytest.mark.parametrize(
    ("its", "of", "sampling", "reason"),
    [
        (looked(units(4), []), [], "simple", NOBODY),
        (looked(units(4, None), range(4)), range(4), "simple", NO_CHANCES),
        (looked(units(4, 0.0), range(4)), range(4), "simple", NO_CHANCES),
        (looked(units(4), range(4)), range(4), None, NO_CHANCES),
        (looked(units(4, 0.5, cluster="A", cluster_chance=0.5), range(4)), range(4), "clusters", ONE_PLACE),
        (looked(units(4, 0.5, cluster="A"), range(4)), range(4), "clusters", NO_CHANCES),
        (outcomes(units(4), checks((0, "examined", DAY), *((n, "not_found", DAY) for n in (1, 2, 3)))), [0], "simple",
         MORE_NOT_SEEN),
    ],
)  # fmt: skip
def test_without_what_it_takes_there_is_no_share_and_the_reason_stands_there(its, of, sampling, reason):
    (row,) = results(its, answers([], of), sampling, 0.95).to_dicts()

    assert row["refused"] == reason
    assert (row["value"], row["low"], row["high"], row["method"]) == (None, None, None, None)


def test_where_all_were_looked_at_there_is_no_margin():
    (row,) = results(looked(units(10), range(10)), answers([1, 2, 3], range(10)), "whole", 0.95).to_dicts()

    assert (row["value"], row["low"], row["high"], row["method"]) == (0.3, 0.3, 0.3, ALL_SEEN)


def test_a_measure_of_which_no_check_says_anything_has_no_row():
    silent = answers([], range(4)).with_columns(damage=pl.lit(None, pl.Boolean))

    assert results(looked(units(4), range(4)), silent, "simple", 0.95)["measure"].to_list() == ["affected"]


@pytest.mark.parametrize("sampling", ["simple", "stratified", "clusters", "two_stage"])
def test_limits_hold_the_true_share_in_most_samples_of_every_design(sampling):
    """200 samples of an invented collection of 600 in 60 places, whose share differs from group to group and place."""
    random = np.random.default_rng(5)
    frame = pl.DataFrame([(f"O{n:04}", f"g{n % 3}", f"P{n // 10:02}") for n in range(600)], schema=FRAME, orient="row")
    of_place = random.normal(0, 0.1, 60)
    share = np.clip(np.array([0.1, 0.3, 0.5])[np.arange(600) % 3] + of_place[np.arange(600) // 10], 0, 1)
    yes = {f"O{n:04}" for n in np.flatnonzero(random.random(600) < share)}
    shared = groups(frame, {"g0": 0.1, "g1": 0.3}, {}, 150) if sampling == "stratified" else None
    design = Design(sampling, 0.05, 0.95, size=150, in_a_cluster=5)
    held, means = 0, []
    for seed in range(200):
        rows = drawn(frame, design, seed, shared).with_columns(outcome=pl.lit("done"), check_id=None, seen_on=DAY)
        (row,) = results(
            rows, rows.select("unit_id", yes=pl.col("unit_id").is_in(list(yes))), sampling, 0.95
        ).to_dicts()
        held += row["low"] <= len(yes) / 600 <= row["high"]
        means.append(row["value"])

    assert np.mean(means) == pytest.approx(len(yes) / 600, abs=0.01)
    assert held >= 180
