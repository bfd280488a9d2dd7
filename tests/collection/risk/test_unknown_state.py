"""What nobody assessed is moving with some chance, else quiet: check values worked in the design (section 5)."""

import polars as pl
import pytest

from collection.risk.unknown_state import NOT_MIXED, with_mixture
from tests.collection.risk.builders import starting_values

# The starting values of a crack: 30 years where nobody assessed it, 10 moving, 100 quiet.
TABLE = starting_values().damage.filter(pl.col("term") == "crack", pl.col("stage") == 0, ~pl.col("stood_in"))
ROW = dict(TABLE.select("state", "rate_row").iter_rows())


def cracks(*states: str, quiet_years: float = 0.0, assumed: bool = False) -> pl.DataFrame:
    rows = [
        {"hazard_id": f"damage:{n}", "term": "crack", "stage": 0, "state": state, "rate_row": ROW[state]}
        | {"quiet_years": quiet_years, "state_assumed": assumed or state == "unknown"}
        for n, state in enumerate(states)
    ]
    return pl.DataFrame(rows, schema_overrides={"rate_row": pl.Int32, "stage": TABLE.schema["stage"]})


def chance(hazards: pl.DataFrame) -> float:
    """Of the first."""
    return float(with_mixture(hazards, starting_values())["chance_moving"][0])


def test_the_starting_chance_gives_the_rows_own_rate():
    """(1/30 - 1/100) / (1/10 - 1/100)."""
    row = with_mixture(cracks("unknown"), starting_values()).row(0, named=True)

    assert row["chance_moving"] == pytest.approx(0.259259, abs=5e-7)
    assert (row["years_moving"], row["years_quiet"]) == (10, 100)
    assert row["chance_moving"] / 10 + (1 - row["chance_moving"]) / 100 == pytest.approx(1 / 30, rel=1e-12)


def test_the_museums_own_examined_damages_join_in():
    """6 of 50 moving beside ten at 0.259259: (2.59259 + 6) / 60."""
    assert chance(cracks("unknown", *["active"] * 6, *["stable"] * 44)) == pytest.approx(0.143210, abs=5e-7)


def test_what_nobody_assessed_says_nothing_of_others():
    assert chance(cracks("unknown", *["unknown"] * 50)) == pytest.approx(0.259259, abs=5e-7)
    assumed = pl.concat([cracks("unknown"), cracks(*["active"] * 50, assumed=True)])
    assert chance(assumed) == pytest.approx(0.259259, abs=5e-7)


def test_quiet_years_speak_for_the_quiet():
    """3 years: odds 0.35 times exp(-3/10) / exp(-3/100)."""
    assert chance(cracks("unknown", quiet_years=3.0)) == pytest.approx(0.210848, abs=5e-7)


def test_an_object_counts_once_whatever_its_parts():
    """A hazard on the whole of an object has a row for each part: one damage."""
    twice = cracks("unknown", *["active"] * 6, *["stable"] * 44)

    assert chance(pl.concat([twice, twice])) == pytest.approx(0.143210, abs=5e-7)


def test_other_states_are_no_mixture():
    mixed = with_mixture(cracks("active", "stable", "suspected", "unknown"), starting_values())["chance_moving"]

    assert mixed.to_list()[:3] == [NOT_MIXED] * 3
    assert mixed[3] > 0
