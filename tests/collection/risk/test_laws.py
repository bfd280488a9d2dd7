"""Laws of the sum from hazards to an object, whatever the figures."""

import math

import polars as pl
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from tests.collection.risk.builders import annual_losses, hazard_rows, loss_of

FRACTION = st.floats(1e-6, 1)
HAZARD = st.fixed_dictionaries(
    {
        "part": st.sampled_from(["lid", "body"]),
        "years": st.sampled_from([1.0, 3.0, 10.0, 30.0, 100.0, 300.0, 1000.0]),
        "reach": FRACTION,
        "loss_depth": FRACTION,
        "part_share": st.just(0.5),
    }
)
HAZARDS = st.lists(HAZARD, min_size=1, max_size=6)
quick = settings(max_examples=25, deadline=None, phases=[Phase.explicit, Phase.reuse, Phase.generate])


@quick
@given(HAZARDS, HAZARD)
def test_a_new_hazard_never_lowers_the_loss(rows, new):
    before, after = annual_losses(rows, [*rows, new])

    assert after >= before * (1 - 1e-12)


@quick
@given(HAZARDS, st.randoms(use_true_random=False))
def test_the_order_of_rows_changes_nothing(rows, random):
    shuffled = random.sample(rows, len(rows))

    one, other = annual_losses(rows, shuffled)
    assert math.isclose(one, other, rel_tol=1e-13)  # lists compare 12 figures


@quick
@given(HAZARDS, HAZARD)
def test_a_new_hazard_on_one_spot_never_takes_less_than_the_largest_alone(rows, new):
    """Places that lie in each other take together at least what each takes, and no more than places apart."""
    spot = [row | {"part": "lid", "nested": True} for row in (*rows, new)]
    apart = [row | {"nested": False} for row in spot]

    together, all_apart, *alone = annual_losses(spot, apart, *([row] for row in apart))

    assert max(alone) * (1 - 1e-9) <= together <= all_apart * (1 + 1e-9)


@quick
@given(HAZARDS, HAZARD)
def test_a_hazard_elsewhere_never_lowers_the_loss_of_a_spot(rows, new):
    spot = [row | {"nested": True} for row in rows]

    before, after = annual_losses(spot, [*spot, new])

    assert after >= before * (1 - 1e-12)


@quick
@given(HAZARDS)
def test_a_part_split_in_two_equal_halves_changes_nothing(rows):
    halves = [row | {"part": f"{row['part']} {side}", "part_share": 0.25} for row in rows for side in "ab"]

    split, whole = annual_losses(halves, rows)

    assert math.isclose(split, whole, rel_tol=1e-12)


@quick
@given(HAZARDS)
def test_loss_never_exceeds_the_value_and_rises_to_its_limit(rows):
    hazards = hazard_rows(*rows)
    kept = dict.fromkeys(hazards["part"], 1.0)
    for part, reach in hazards.select("part", "reach").iter_rows():
        kept[part] *= 1 - reach

    losses = [loss_of(hazards, years) for years in (0, 1, 10, 1e3, 1e12)]

    assert losses == sorted(losses)
    assert losses[0] == 0
    assert math.isclose(losses[-1], sum(0.5 * (1 - k) for k in kept.values()), rel_tol=1e-9)


@quick
@given(HAZARDS)
def test_closing_a_damage_removes_exactly_its_log_within_its_part(rows):
    closed, *left = rows
    hazards = hazard_rows(*rows)  # in the order of rows
    log_before = hazards.filter(pl.col("part") == closed["part"])["log_kept"].sum()

    before, after = annual_losses(rows, left)

    term = -0.5 * (math.expm1(log_before) - math.expm1(log_before - hazards["log_kept"][0]))
    assert math.isclose(before - after, term, rel_tol=1e-6, abs_tol=1e-15)


@quick
@given(HAZARDS)
def test_ten_times_the_years_lower_the_loss(rows):
    slower = [row | {"years": row["years"] * 10} for row in rows]

    slow, fast = annual_losses(slower, rows)

    assert slow < fast
