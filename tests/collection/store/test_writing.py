"""One transaction for records, readings and their delivery; a withdrawn row that comes again; times of a zone."""

import json
from datetime import date, datetime

import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from collection.store import Change, Store, readings
from collection.store.change import DeliveryNote, FileReadings
from schemas.errors import SourceRefused

DAY = datetime(2026, 3, 1)


def objects(*numbers: str) -> pl.DataFrame:
    return pl.DataFrame({"object_id": list(numbers)})


def of_logger(name: str, hours: range, zone: str | None = None) -> pl.DataFrame:
    moments = [DAY.replace(hour=h) for h in hours]
    frame = pl.DataFrame({"logger_id": [name] * len(moments), "read_at": moments, "rh_percent": [50.0] * len(moments)})
    return frame if zone is None else frame.with_columns(source_zone=pl.lit(zone))


def source(name: str, hours: range, zone: str | None = None) -> FileReadings:
    return FileReadings([of_logger(name, hours, zone)], f"{name}.csv", name.encode().hex().rjust(64, "0"))


def test_the_readings_of_each_file_are_journalled_under_their_own_file(store):
    change = Change({}, readings=[source("one", range(3)), source("two", range(5))])

    done = store.write(change, by="ada")

    entries = store.read_journal().filter(action="read in")
    assert [(json.loads(r["after"])["file"], json.loads(r["after"])["rows"]) for r in entries.to_dicts()] == [
        ("one.csv", 3),
        ("two.csv", 5),
    ]
    assert [json.loads(key)["sha256"] for key in entries["row_key"]] == [r.sha256 for r in change.readings]
    assert list(done.readings.values()) == [(3, 0), (5, 0)]
    assert done.added == {"climate_reading": 8}


def test_readings_that_come_again_are_counted_as_unchanged_and_leave_no_trace(store):
    store.write(Change({}, readings=[source("one", range(3))]), by="ada")
    before = store.read_journal()

    again = store.write(Change({}, readings=[source("one", range(3)), source("two", range(2))]), by="ada")

    assert list(again.readings.values()) == [(0, 3), (2, 0)]
    assert store.read_journal().height == before.height + 1


def test_a_file_is_not_noted_when_its_readings_fail(store):
    store.write(Change({"object": objects("V.1")}), by="ada")
    note = pl.DataFrame({"sha256": ["0" * 64], "name": ["one.csv"], "read_on": [date(2026, 3, 1)]})

    with pytest.raises(SourceRefused, match="'Mars/Olympus' is no time zone"):
        store.write(
            Change({"intake_file": note, "object": objects("V.2")}, readings=[source("one", range(3), "Mars/Olympus")]),
            by="ada",
        )

    assert store.read()["intake_file"].is_empty()
    assert store.read()["object"]["object_id"].to_list() == ["V.1"]
    assert store.read_journal().height == 1


def test_noon_in_berlin_is_ten_o_clock_utc_in_summer_and_eleven_in_winter(store):
    moments = [datetime(2026, 7, 1, 12), datetime(2026, 1, 1, 12), datetime(2026, 7, 1, 12)]
    zones = ["Europe/Berlin", "Europe/Berlin", None]
    frame = pl.DataFrame(
        {"logger_id": ["L", "L", "M"], "read_at": moments, "source_zone": zones, "rh_percent": [40.0] * 3}
    )

    store.write_readings([frame], "l.csv", "0" * 64, by="ada")

    held = store.read_record("climate_reading")
    assert held.sort("logger_id", "read_at").select("logger_id", "read_at", "source_zone").rows() == [
        ("L", datetime(2026, 1, 1, 11), "Europe/Berlin"),
        ("L", datetime(2026, 7, 1, 10), "Europe/Berlin"),
        ("M", datetime(2026, 7, 1, 12), None),
    ]
    again = store.write_readings([frame], "l.csv", "0" * 64, by="ada")
    assert again.unchanged == {"climate_reading": 3}


def test_of_the_hour_that_comes_twice_in_autumn_no_reading_is_lost(store):
    autumn = [datetime(2026, 10, 25, 2, 30)] * 2 + [datetime(2026, 10, 25, 3, 30)]
    frame = pl.DataFrame(
        {"logger_id": ["L"] * 3, "read_at": autumn, "source_zone": ["Europe/Berlin"] * 3, "rh_percent": [1.0, 2, 3]}
    )

    utc = readings.in_utc(frame)

    assert utc["read_at"].to_list() == [datetime(2026, 10, 25, h, 30) for h in (0, 1, 2)]


def test_a_time_that_spring_leaves_out_is_read_as_of_the_time_before():
    frame = pl.DataFrame(
        {"logger_id": ["L"], "read_at": [datetime(2026, 3, 29, 2, 30)], "source_zone": ["Europe/Berlin"]}
    )

    assert readings.in_utc(frame)["read_at"].to_list() == [datetime(2026, 3, 29, 1, 30)]


zones = st.sampled_from(["Europe/Berlin", "America/New_York", "Asia/Kolkata", "UTC", "Australia/Lord_Howe"])
utc_hours = st.datetimes(datetime(2020, 1, 1), datetime(2027, 1, 1), timezones=st.just(None))


@given(st.lists(utc_hours, min_size=1, max_size=5, unique=True), zones)
@settings(max_examples=60, deadline=None)
def test_local_times_of_any_zone_give_back_the_utc_they_were_made_of(moments, zone):
    ordered = sorted(m.replace(minute=0, second=0, microsecond=0) for m in moments)
    utc = (
        pl.DataFrame({"logger_id": "L", "read_at": ordered})
        .unique(maintain_order=True)
        .with_columns(source_zone=pl.lit(zone))
    )
    local = utc.with_columns(
        pl.col("read_at").dt.replace_time_zone("UTC").dt.convert_time_zone(zone).dt.replace_time_zone(None)
    )
    # An hour of which only the second coming was read cannot be told from the first.
    twice = local["read_at"].dt.replace_time_zone(zone, ambiguous="null").is_null()
    clear = ~(twice & ~local["read_at"].is_duplicated())

    assert readings.in_utc(local).filter(clear)["read_at"].to_list() == utc.filter(clear)["read_at"].to_list()


def test_a_withdrawn_row_that_comes_in_again_counts_again_and_is_journalled(store):
    rows = pl.DataFrame({"object_id": ["V.1", "V.2"], "title": ["Box", "Jug"]})
    store.write(Change({"object": rows}, from_file=True), by="ada")
    gone = {
        "object_id": ["V.1"],
        "row_version": [1],
        "withdrawn_on": [date(2026, 1, 1)],
        "withdrawn_reason": ["mistake"],
    }
    store.write(Change({"object": pl.DataFrame(gone)}), by="ben")

    versions = pl.Series("row_version", [2, 1])
    done = store.write(Change({"object": rows.with_columns(versions)}, from_file=True), by="ada")

    assert store.read()["object"]["object_id"].to_list() == ["V.1", "V.2"]
    assert (done.changed, done.unchanged) == ({"object": 1}, {"object": 1})
    last = store.read_journal().tail(1).to_dicts()[0]
    assert json.loads(last["before"]) == {"withdrawn_on": "2026-01-01", "withdrawn_reason": "mistake"}
    assert json.loads(last["after"]) == {"withdrawn_on": None, "withdrawn_reason": None}


def test_a_form_that_changes_a_withdrawn_row_does_not_bring_it_back(store):
    store.write(Change({"object": objects("V.1")}), by="ada")
    gone = {"object_id": ["V.1"], "row_version": [1], "withdrawn_on": [date(2026, 1, 1)]}
    store.write(Change({"object": pl.DataFrame(gone)}), by="ben")
    store.write(
        Change({"object": pl.DataFrame({"object_id": ["V.1"], "row_version": [2], "title": ["Box"]})}), by="ben"
    )

    assert store.read()["object"].is_empty()


def test_the_last_changes_are_read_alone_and_counted(store):
    store.write(Change({"object": objects('O"B', "V.1", "V.10", "B\\1", "Ä.1")}), by="ada")
    store.write(Change({"person": pl.DataFrame({"person_id": ["V.1"]})}), by="ada")

    last, count = store.read_last_changes(2)
    assert (last["seq"].to_list(), count) == ([5, 6], 6)
    for number, record, expected in [
        ('O"B', None, 1),
        ("V.1", None, 2),
        ("V.1", "object", 1),
        ("B\\1", None, 1),
        ("Ä.1", None, 1),
        ("object_id", None, 0),
        ("V.", None, 0),
    ]:
        changes, count = store.read_last_changes(20, record=record, number=number)
        assert (changes.height, count) == (expected, expected), number


def test_a_delivery_and_its_rows_are_one_transaction(store, monkeypatch):
    store.write(Change({"object": objects("V.1")}), by="ada")

    def refused(*args: object, **kwargs: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr("collection.store.deliveries.note", refused)
    with pytest.raises(ZeroDivisionError):
        store.write(Change({"object": objects("V.2")}, delivery=DeliveryNote(["a.csv"])), by="ada")

    assert Store(store.path).read()["object"]["object_id"].to_list() == ["V.1"]
