"""What was drawn agrees with the rates it was drawn from, and the planted events show where they were planted."""

from collections import Counter

import polars as pl
import pytest
from scipy.stats import chi2

from demo_collection.generator.damage import NEW, ORDINARY, REPAIR_LOSS
from demo_collection.generator.simulation import simulate

ROWS = sorted(key for key, expected in simulate().tally.expected.items() if expected > 0)
CHANCE = 0.01 / len(ROWS)  # chance that any limit of all these is missed by chance alone: 1 %
DAMP = ["weeping", "salts", "glass_induced_metal_corrosion", "fe_rust"]


def limits(count: int, chance: float) -> tuple[float, float]:
    """Exact limits of a Poisson mean, given what was counted."""
    low = chi2.ppf(chance / 2, 2 * count) / 2 if count else 0.0
    return low, chi2.ppf(1 - chance / 2, 2 * count + 2) / 2


def test_the_limits_are_the_exact_ones():
    assert limits(0, 0.05) == pytest.approx((0.0, 3.688879))
    assert limits(10, 0.05) == pytest.approx((4.795389, 18.390356))


@pytest.mark.parametrize("row", ROWS, ids=lambda row: ", ".join(row))
def test_expected_counts_lie_inside_the_exact_limits_of_what_was_drawn(row):
    low, high = limits(simulate().tally.drawn[row], CHANCE)

    assert low <= simulate().tally.expected[row] <= high


@pytest.mark.parametrize("what", sorted({what for what, _, _ in ROWS}))
def test_sums_lie_inside_the_95_percent_limits(what):
    expected = sum(v for k, v in simulate().tally.expected.items() if k[0] == what)
    low, high = limits(sum(v for k, v in simulate().tally.drawn.items() if k[0] == what), 0.05)

    assert low <= expected <= high


def test_every_new_damage_drawn_was_written_down(register):
    written = Counter(register["damage"].filter(onset="since_last_look")["kind"].to_list())
    drawn = Counter()
    for (what, kind, _), count in simulate().tally.drawn.items():
        drawn["loss" if what == REPAIR_LOSS else kind] += count if what in (NEW, REPAIR_LOSS) else 0

    assert written == +drawn


def test_the_damp_of_2022_shows_in_l2_and_hardly_in_cloisonne(register):
    place = register["object"].select("object_id", "technique", room=pl.col("location_id").str.head(2))
    new = (
        register["damage"]
        .filter(onset="since_last_look")
        .join(place, on="object_id")
        .with_columns(year=pl.col("first_seen_on_latest").dt.year())
    )
    fed = new.filter(pl.col("kind").is_in(DAMP), room="L2")
    after = fed.filter(pl.col("year").is_in([2023, 2024])).height

    before = fed.filter(pl.col("year").is_between(2018, 2021)).height

    assert after / 2 >= 4 * before / 4
    assert (
        after
        >= 3 * new.filter(pl.col("kind").is_in(DAMP), pl.col("year").is_in([2023, 2024]), pl.col("room") != "L2").height
    )
    assert simulate().tally.expected.get((NEW, "cu_corrosion", "l2_damp"), 0) < 1


def test_the_hot_fortnight_lifts_enamel_on_the_warm_side(register):
    place = register["object"].select("object_id", "base_metal", room=pl.col("location_id").str.head(2))
    lifted = (
        register["damage"]
        .filter(kind="lifting", onset="since_last_look", cause="temperature")
        .join(place, on="object_id")
    )

    assert lifted.height == simulate().tally.drawn[(NEW, "lifting", "gallery_heat")] > 5
    assert lifted.select("room", "base_metal").unique().rows() == [("GW", "copper")]
    assert (NEW, "lifting", ORDINARY) in simulate().tally.drawn
