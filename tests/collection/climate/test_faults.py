"""Faults planted in a quiet day's readings are told, each for what it is, and nothing else is."""

from datetime import datetime, timedelta

import numpy as np
import polars as pl
import pytest

from collection.climate.faults import FAULTS, READING, faults, without_faulty
from collection.climate.parameters import readings

START = datetime(2026, 1, 1)
HOUR = timedelta(hours=1)


def quiet(hours: int = 200, logger: str = "L") -> pl.DataFrame:
    """Hourly readings that never stay the same and never jump."""
    n = np.arange(hours)
    columns = {
        "logger_id": [logger] * hours,
        "read_at": [START + int(i) * HOUR for i in n],
        "temperature_c": 20 + np.round(2 * np.sin(n / 4), 1) + 0.01 * (n % 2),
        "rh_percent": 50 + np.round(4 * np.cos(n / 7), 1) + 0.01 * (n % 2),
    }
    return pl.DataFrame(columns, schema=READING)


def at(row: int, name: str, value: float | None) -> pl.Expr:
    return pl.when(pl.int_range(pl.len()) == row).then(pl.lit(value, pl.Float64)).otherwise(name).alias(name)


def kinds(rows: pl.DataFrame) -> list[tuple[str, int, int]]:
    """Kind and first and last hour of each fault."""
    spans = faults(rows, readings())
    assert spans.schema == FAULTS
    return [(k, int((a - START) / HOUR), int((b - START) / HOUR)) for _, k, a, b in spans.iter_rows()]


def test_nothing_is_wrong_with_a_quiet_logger():
    assert kinds(quiet()) == []
    assert kinds(quiet().clear()) == []


def test_a_gap():
    rows = quiet().filter(~pl.int_range(pl.len()).is_between(50, 59))

    assert kinds(rows) == [("gap", 49, 60)]


def test_three_usual_steps_are_no_gap():
    assert kinds(quiet().filter(~pl.int_range(pl.len()).is_in([50, 51]))) == []


def test_a_sensor_that_sticks_for_a_day():
    stuck = pl.int_range(pl.len()).is_between(60, 84)
    rows = quiet().with_columns(
        temperature_c=pl.when(stuck).then(21.4).otherwise("temperature_c"),
        rh_percent=pl.when(stuck).then(48.8).otherwise("rh_percent"),
    )

    assert kinds(rows) == [("stuck", 60, 84)]
    assert kinds(rows.filter(pl.int_range(pl.len()) != 84)) == []  # 23 hours


@pytest.mark.parametrize(("name", "value"), [("temperature_c", 35.0), ("rh_percent", 80.0)])
def test_a_jump_and_back(name, value):
    rows = quiet().with_columns(at(70, name, value)).with_columns(at(71, name, value + 0.4))

    assert kinds(rows) == [("jump", 70, 71)]


def test_a_rise_that_stays_is_no_fault():
    rows = quiet().with_columns(
        temperature_c=pl.when(pl.int_range(pl.len()) >= 70).then(pl.col("temperature_c") + 9).otherwise("temperature_c")
    )

    assert kinds(rows) == []


@pytest.mark.parametrize(("name", "value"), [("rh_percent", 100.5), ("rh_percent", -1.0), ("temperature_c", -50.0)])
def test_values_that_cannot_be(name, value):
    rows = quiet().with_columns(at(70, name, value))

    assert ("out_of_range", 70, 70) in kinds(rows)


def test_faulty_readings_are_left_out_of_sums_and_others_stay():
    both = pl.concat([quiet().with_columns(at(70, "rh_percent", 250.0)), quiet(logger="M")])
    sound = without_faulty(both, faults(both, readings()))

    assert sound.height == both.height - 1
    assert sound.filter(logger_id="M").height == 200
    assert sound["rh_percent"].max() < 60


def test_a_reading_twice_and_out_of_order_is_no_fault():
    rows = quiet()
    shuffled = pl.concat([rows, rows.head(20)]).sample(fraction=1, shuffle=True, seed=3)

    assert kinds(shuffled) == []
