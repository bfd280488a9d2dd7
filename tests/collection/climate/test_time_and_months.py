"""Time at targets with a day as 24 hours; percentiles by month; rise and span; worked by hand."""

from datetime import date, datetime, timedelta

import polars as pl
import pytest

from collection.climate.air import at_surface, by_month, within_day
from collection.climate.sides import LIMITS, time_at_target

DAY = datetime(2026, 3, 1)


def hours(values: list[tuple[float, float]], start: datetime = DAY, place: str = "E1") -> pl.DataFrame:
    times = [start + timedelta(hours=n) for n in range(len(values))]
    return pl.DataFrame(
        {
            "location_id": place,
            "hour": times,
            "temperature_c": [t for t, _ in values],
            "rh_percent": [u for _, u in values],
        },
        schema_overrides={"hour": pl.Datetime("us"), "temperature_c": pl.Float64, "rh_percent": pl.Float64},
    )


def pairs(**limits: float) -> pl.DataFrame:
    row = {"air": "E1", "target_id": "T", **dict.fromkeys(LIMITS), **limits}
    return pl.DataFrame([row], schema_overrides=dict.fromkeys(LIMITS, pl.Float64))


def test_a_day_of_one_mean_counts_as_much_as_a_day_of_24_readings():
    """24 hourly readings outside and one daily mean inside: half of the time outside, not 24 in 25."""
    measured = pl.concat([hours([(20, 60)] * 24), hours([(20, 45)], DAY + timedelta(days=1, hours=12))])

    row = time_at_target(pairs(rh_high=50), measured, 24).row(0, named=True)

    assert row == {"air": "E1", "target_id": "T", "inside": 0.5, "below": 0.0, "above": 0.5, "swing": 0.0, "days": 2.0}


def test_sides_by_hand():
    """Of 24 hours 6 at 35 %, 6 at 55 %, 12 at 45 %; target 40 to 50 %, at most 15 % within 24 h: above and below 1/4
    each; from the hour that is 20 % above the lowest (the 7th) on, 18 of 24 hours are in too wide a swing."""
    measured = hours([(20, 35)] * 6 + [(20, 55)] * 6 + [(20, 45)] * 12)

    row = time_at_target(pairs(rh_low=40, rh_high=50, rh_change_24h=15), measured, 24).row(0, named=True)

    assert (row["below"], row["above"], row["swing"], row["inside"]) == (0.25, 0.25, 0.75, 0.0)


def test_months_hold_percentiles_by_linear_interpolation():
    """0, 1, ... 100: 5th percentile 5, median 50, 95th 95."""
    row = by_month(hours([(n, n) for n in range(101)])).filter(quantity="rh_percent").row(0, named=True)

    assert (row["month"], row["p5"], row["p50"], row["p95"], row["days"], row["hours"]) == (date(2026, 3, 1), 5, 50, 95, 5, 101)  # fmt: skip


def test_rise_is_from_the_lowest_of_the_last_day_and_span_from_lowest_to_highest():
    """18, 24, 20 °C: rises 0, 6, 2; spans 0, 6, 6. What lies more than 24 hours back counts no longer."""
    measured = pl.concat([hours([(10, 50)]), hours([(18, 50), (24, 50), (20, 50)], DAY + timedelta(days=2))])

    row = within_day(measured, 24).filter(quantity="temperature_c").row(0, named=True)

    assert (row["rise_largest"], row["span_largest"], row["span_p50"]) == (6, 6, 3)


def test_a_colder_surface_is_damper_and_wet_below_the_dew_point():
    """20 °C and 50 %: 68.538 % at 15 °C, dew point 9.255 °C (WMO no. 8, annex 4.B, computed)."""
    dry, wet = (at_surface(hours([(20, 50)] * 48), at) for at in (15.0, 9.0))

    assert (round(dry.median_rh, 3), round(dry.highest_dew_c, 3), dry.wet_share, dry.days) == (68.538, 9.255, 0, 2)
    assert (wet.median_rh, wet.wet_share) == (100, 1)


@pytest.mark.parametrize("values", [[], [(20, None)]])
def test_nothing_is_said_of_a_surface_where_nobody_measured_both(values):
    assert at_surface(hours(values), 10.0) is None
