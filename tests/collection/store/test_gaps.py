"""Faulty stretches found as readings come in, left out of hourly means, found anew after an undo."""

from datetime import date, datetime, timedelta

import polars as pl
import pytest

from collection.store import Change, Store
from collection.store.change import DeliveryNote, FileReadings

START = datetime(2026, 1, 1)
DAY = (date(2026, 1, 1), date(2026, 1, 3))


def rows(logger: str, values: list[float | None], place: str = "E1", start: datetime = START) -> pl.DataFrame:
    times = [start + timedelta(hours=n) for n, v in enumerate(values) if v is not None]
    steady = [v for v in values if v is not None]
    warm = [18 + (n % 5) / 10 for n in range(len(steady))]
    return pl.DataFrame(
        {"logger_id": logger, "location_id": place, "read_at": times, "rh_percent": steady, "temperature_c": warm}
    )


def file(frame: pl.DataFrame, name: str) -> FileReadings:
    return FileReadings([frame], name, name.encode().hex().rjust(64, "0"))


@pytest.fixture
def housed(store: Store) -> Store:
    store.write(Change({"location": pl.DataFrame({"location_id": ["E1"], "logger_id": ["L"]})}), by="ada")
    return store


def gaps(store: Store) -> list[tuple[str, str, int, int]]:
    frame = store.read()["logger_gap"].select("logger_id", "kind", "starts_at", "ends_at")
    return [(logger, kind, a.hour, b.hour) for logger, kind, a, b in frame.rows()]


SWINGING: list[float | None] = [45 + n % 3 for n in range(24)]


def test_a_jump_and_a_gap_are_written_once_with_the_day_and_journalled(housed):
    jumped: list[float | None] = [*SWINGING[:10], 90, *SWINGING[11:15], None, None, None, None, *SWINGING[19:]]

    housed.write(Change({}, from_file=True, readings=[file(rows("L", jumped), "a.csv")]), by="ada")
    again = housed.write(Change({}, from_file=True, readings=[file(rows("L", jumped), "b.csv")]), by="ada")

    assert gaps(housed) == [("L", "jump", 10, 10), ("L", "gap", 14, 19)]
    assert again.added == {"climate_reading": 0}
    assert housed.read_journal(record="logger_gap").height == 2


def test_a_faulty_reading_is_in_no_hourly_mean(housed):
    jumped: list[float | None] = [*SWINGING[:10], 90, *SWINGING[11:]]

    housed.write(Change({}, from_file=True, readings=[file(rows("L", jumped), "a.csv")]), by="ada")

    hours = housed.read_hours(["E1"], *DAY)
    assert 10 not in [t.hour for t in hours["hour"]]
    assert hours["rh_percent"].max() == 47


def test_of_an_hour_that_is_faulty_in_part_the_rest_counts(housed):
    """Readings each quarter of an hour: of the hour from 10 the reading at 10:15 jumps; the mean is of the other three."""
    times = [START + timedelta(minutes=15 * n) for n in range(96)]
    humid = [44.0 + n % 3 for n in range(96)]
    humid[41] = 90.0
    frame = pl.DataFrame({"logger_id": "L", "location_id": "E1", "read_at": times, "rh_percent": humid})

    housed.write(Change({}, from_file=True, readings=[file(frame, "q.csv")]), by="ada")

    hours = housed.read_hours(["E1"], *DAY)
    (mean,) = hours.filter(pl.col("hour") == START + timedelta(hours=10))["rh_percent"]
    assert hours.height == 24
    assert mean == pytest.approx((humid[40] + humid[42] + humid[43]) / 3)


def test_readings_that_fill_a_gap_end_it_and_an_undo_brings_it_back(housed):
    broken: list[float | None] = [*SWINGING[:14], None, None, None, None, None, *SWINGING[19:]]
    filling = rows("L", SWINGING[14:19], start=START + timedelta(hours=14))
    housed.write(Change({}, from_file=True, readings=[file(rows("L", broken), "a.csv")]), by="ada")

    housed.write(
        Change({}, from_file=True, readings=[file(filling, "b.csv")], delivery=DeliveryNote(["b.csv"])), by="ada"
    )
    filled = gaps(housed)
    undone = housed.undo(by="ben")

    assert filled == []
    assert undone.standing.is_empty()
    assert gaps(housed) == [("L", "gap", 13, 19)]


def test_the_logger_a_place_names_counts_and_in_its_gaps_the_mean_of_the_others(housed):
    own: list[float | None] = [40, 41, 40, None, 40, 41]
    more = [rows("L", own), rows("M", [60, 61, 60, 62, 60, 61]), rows("N", [50, 51, 50, 52, 50, 51])]

    housed.write(Change({}, from_file=True, readings=[file(f, f"{n}.csv") for n, f in enumerate(more)]), by="ada")

    assert housed.read_hours(["E1"], *DAY)["rh_percent"].to_list() == [40, 41, 40, 57, 40, 41]
