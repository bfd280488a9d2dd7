"""Draws of the starting values: check values worked in the design (section 5), and laws of what is drawn."""

import math
from collections.abc import Mapping
from dataclasses import replace
from statistics import NormalDist
from typing import Any

import polars as pl
import pytest
from polars.testing import assert_frame_equal

from collection.risk import draws
from collection.risk.draws import Drawing, draw
from collection.risk.rates import RatesTable
from collection.risk.years import sigmas
from tests.collection.risk.builders import hazard_rows, risk_of, starting_values

NORMAL = NormalDist()
LIMIT = 1.64485
# One hazard: a part of share 0.1, reach 0.3, depth 1, years (1, 3, 10).
WORKED = {0.05: 0.00285488, 0.5: 0.00850406, 0.95: 0.0189636}


def rates(common_share: float) -> RatesTable:
    start = starting_values()
    return replace(start, lines=start.lines.model_copy(update={"common_share": common_share}))


def drawn_hazards(*rows: Mapping[str, Any]) -> pl.DataFrame:
    """Hazards as they are drawn: an extent that is sure, a state somebody assessed, no moves, unless a row says so."""
    own = starting_values().damage.filter(pl.col("state") == "active", ~pl.col("stood_in"))
    plain: dict[str, Any] = {
        "object_id": "O", "part": "p", "part_share": 1.0, "years_short": 1.0, "years_likely": 3.0, "years_long": 10.0,
        "quiet_years": 0.0, "quiet_factor": 1.0, "modifier": 1.0, "handling_rate": 0.0, "affected_low": 0.3,
        "affected_share": 0.3, "affected_high": 0.3, "left_share": 1.0, "visibility": 1.0, "loss_depth": 1.0,
        "extent_basis": "measured", "nested": False, "state": "active", "state_assumed": False,
    }  # fmt: skip
    each = own.select("rate_row", "term").rows()
    full = [
        plain
        | {"hazard_id": f"damage:{n:03d}", "rate_row": each[n % 7][0], "term": each[n % 7][1], "plain": True}
        | row
        for n, row in enumerate(rows)
    ]
    return pl.DataFrame(full, schema_overrides={"rate_row": pl.Int32})


def alike(hazards: pl.DataFrame) -> pl.DataFrame:
    """The objects, each worth the same."""
    return hazards.select("object_id").unique().with_columns(weight=pl.lit(1.0))


def loss(z: float, share: float = 0.1, reach: float = 0.3, years: tuple[float, float, float] = (1, 3, 10)) -> float:
    """Loss at a normal deviate of the years, in closed form."""
    low, high = sigmas(*years)
    return share * reach * (1 - math.exp(-math.exp(-(low if z < 0 else high) * z) / years[1]))


def standard_error(quantile: float, count: int) -> float:
    """Of a sample quantile: sqrt(p (1 - p) / n) over the density there (Mosteller, Annals of Mathematical Statistics
    17, 1946); the loss falls as z rises, so the density is that of z over the slope of the loss.
    """
    z, step = -NORMAL.inv_cdf(quantile), 1e-5
    slope = (loss(z - step) - loss(z + step)) / (2 * step)
    return math.sqrt(quantile * (1 - quantile) / count) / NORMAL.pdf(z) * slope


@pytest.mark.parametrize("quantile", WORKED)
def test_the_closed_form_gives_the_worked_quantiles(quantile):
    assert loss(-NORMAL.inv_cdf(quantile)) == pytest.approx(WORKED[quantile], rel=5e-5)


@pytest.mark.parametrize("common_share", [0.0, 0.5, 1.0])
def test_quantiles_of_one_hazard_lie_within_their_sampling_error(common_share):
    """1,000 draws: standard errors 0.000133, 0.000199 and 0.000493; three of them are allowed."""
    one = drawn_hazards({"part_share": 0.1})

    row = draw(one, alike(one), rates(common_share), Drawing(first=1)).row(0, named=True)

    for name, (quantile, worked) in zip(("loss_low", "loss_middle", "loss_high"), WORKED.items(), strict=True):
        assert row[name] == pytest.approx(worked, abs=3 * standard_error(quantile, 1000))


def test_the_chance_of_being_first_of_two():
    """Likely 10 and 30, sigma 0.7 both, independent: Phi(ln 3 / (0.7 sqrt 2)) = 0.866450; three standard errors of
    20,000 draws are 0.0072.
    """
    wide = math.exp(0.7 * LIMIT)
    years = [{"years_short": t / wide, "years_likely": t, "years_long": t * wide} for t in (10.0, 30.0)]
    two = drawn_hazards({"object_id": "A", **years[0]}, {"object_id": "B", **years[1]})

    both = draw(two, alike(two), rates(0.0), Drawing(first=1, draws=20_000))

    chances = dict(both.select("object_id", "in_first").iter_rows())
    assert chances["A"] == pytest.approx(0.866450, abs=3 * math.sqrt(0.866450 * 0.13355 / 20_000))
    assert chances["A"] + chances["B"] == pytest.approx(1, abs=1e-12)


def test_hazards_of_one_row_rise_and_fall_together():
    """All spread shared: of two of one row the one with fewer years is first in every draw."""
    years = [{"years_short": t / 3, "years_likely": t, "years_long": t * 3} for t in (3.0, 3.3)]
    row = {"rate_row": starting_values().damage["rate_row"][0]}
    two = drawn_hazards({"object_id": "A", **years[0], **row}, {"object_id": "B", **years[1], **row})

    both = draw(two, alike(two), rates(1.0), Drawing(first=1))

    assert dict(both.select("object_id", "in_first").iter_rows()) == {"A": 1.0, "B": 0.0}


SURE = {"years_short": 3.0, "years_likely": 3.0, "years_long": 3.0}
SMALL = {f"affected_{end}": 0.1 for end in ("low", "share", "high")}


@pytest.mark.parametrize(("nested", "worked"), [(True, 0.105352), (False, 0.110977)])
def test_without_any_spread_a_draw_is_the_likely_figure(nested, worked):
    """0.3 and 0.1, both K 0.283469, on one spot and apart (section 3)."""
    rows = drawn_hazards(SURE | {"nested": nested}, SURE | SMALL | {"nested": nested})

    row = draw(rows, alike(rows), rates(0.5), Drawing(first=1, draws=10)).row(0, named=True)

    assert row["loss_low"] == pytest.approx(worked, abs=5e-7)
    assert row["loss_high"] == pytest.approx(worked, abs=5e-7)


def test_a_spot_in_draws_is_the_spot_of_the_risk_model():
    """Unlike rates, depths and visibility: what the draws hold of one spot is what `with_log_kept` holds of it."""
    rows = [{"years": 3.0, "reach": 0.3, "loss_depth": 0.5}, {"years": 7.0, "reach": 0.12, "loss_depth": 0.2}]
    drawn = drawn_hazards(
        *({"years_short": r["years"], "years_likely": r["years"], "years_long": r["years"], "loss_depth": r["loss_depth"]}
          | {f"affected_{end}": r["reach"] for end in ("low", "share", "high")} | {"nested": True} for r in rows)
    )  # fmt: skip

    row = draw(drawn, alike(drawn), rates(0.5), Drawing(first=1, draws=10)).row(0, named=True)

    whole = risk_of(hazard_rows(*(r | {"nested": True} for r in rows)))
    assert row["loss_middle"] == pytest.approx(whole["annual_loss"], rel=2e-6)


def test_a_band_is_cut_at_its_ends_and_at_what_is_left():
    """The largest loss of a band 0.05 to 0.25 with 0.2 left is that of 0.2 lost at sure years."""
    band = {"affected_low": 0.05, "affected_share": 0.11, "affected_high": 0.25, "extent_basis": "band"}
    rows = drawn_hazards(SURE | band | {"left_share": 0.2})
    gone = 1 - math.exp(-1 / 3)

    row = draw(rows, alike(rows), rates(0.5), Drawing(first=1, draws=4000)).row(0, named=True)

    assert row["loss_high"] == pytest.approx(0.2 * gone, rel=1e-5)
    assert row["loss_low"] == pytest.approx(0.05 * gone, rel=0.02)


def several(count: int) -> pl.DataFrame:
    """Objects with one to three hazards in one or two parts, some of a state nobody assessed, some on one spot."""
    rows = [
        {"object_id": f"O{n // 2:03d}", "part": f"p{n % 2}", "part_share": 0.5, "years_likely": 1.5 + n % 5}
        | {"affected_low": 0.05, "affected_share": 0.1, "affected_high": 0.3, "nested": n % 3 == 0}
        for n in range(count)
    ]
    return drawn_hazards(*rows, *({**row, "visibility": 0.6, "years_likely": 4.0} for row in rows[::3]))


def test_chances_of_being_among_the_first_sum_to_their_number():
    rows = several(60)

    chances = draw(rows, alike(rows), rates(0.5), Drawing(first=7, draws=200))["in_first"]

    assert chances.sum() == pytest.approx(7, abs=1e-9)
    assert 0 < chances.min() + chances.max() <= 1


def test_fewer_objects_than_asked_for_are_all_among_the_first():
    rows = several(8)

    assert draw(rows, alike(rows), rates(0.5), Drawing(first=20, draws=50))["in_first"].to_list() == [1.0] * 4


@pytest.mark.parametrize("block", [1, 7, 1000])
def test_the_order_of_rows_and_the_size_of_blocks_change_no_bit(monkeypatch, block):
    rows = several(60)
    once = draw(rows, alike(rows), rates(0.5), Drawing(first=7, draws=100)).sort("object_id")
    shuffled = rows.sample(fraction=1, shuffle=True, seed=5)
    monkeypatch.setattr(draws, "BLOCK", block)

    again = draw(shuffled, alike(shuffled), rates(0.5), Drawing(first=7, draws=100)).sort("object_id")

    assert_frame_equal(once, again, check_exact=True)


def test_other_objects_change_nothing_of_an_object():
    """Its draws hang on its number and the seed alone."""
    rows = several(60)
    some = rows.filter(pl.col("object_id") >= "O010")
    of_all, of_some = (
        draw(r, alike(r), rates(0.5), Drawing(first=7, draws=100)).drop("in_first") for r in (rows, some)
    )

    assert_frame_equal(of_all.join(of_some, on="object_id", how="semi"), of_some, check_exact=True)


def test_the_seed_alone_decides():
    rows = several(20)
    one, same, other = (draw(rows, alike(rows), rates(0.5), Drawing(first=7, draws=100, seed=s)) for s in (3, 3, 4))

    assert_frame_equal(one, same, check_exact=True)
    assert (one["loss_middle"] != other["loss_middle"]).all()


def test_nothing_at_stake_gives_no_row():
    rows = drawn_hazards({"affected_share": 0.0, "affected_low": 0.0, "affected_high": 0.0})

    assert draw(rows, alike(rows), rates(0.5), Drawing(first=7)).is_empty()


def test_a_state_nobody_assessed_is_drawn_first():
    """A crack that moves (10 years) with chance 0.259259, else is quiet (100): the mean of many draws, three standard
    errors allowed.
    """
    cell = (pl.col("term") == "crack") & (pl.col("stage") == 0) & (pl.col("state") == "unknown")
    row = int(starting_values().damage.filter(cell)["rate_row"].item())
    unknown = {"rate_row": row, "term": "crack", "state": "unknown", "state_assumed": True, "affected_share": 1.0}
    rows = drawn_hazards(SURE | unknown | {"affected_low": 1.0, "affected_high": 1.0})
    moving, quiet = (1 - math.exp(-1 / years) for years in (10, 100))
    chance, count = 0.259259, 20_000

    mean = draw(rows, alike(rows), rates(0.5), Drawing(first=1, draws=count))["mean"].item()

    error = (moving - quiet) * math.sqrt(chance * (1 - chance) / count)
    assert mean == pytest.approx(chance * moving + (1 - chance) * quiet, abs=3 * error)
