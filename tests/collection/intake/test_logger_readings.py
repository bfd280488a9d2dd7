"""What becomes of each reading in a logger's file: brought in, left empty and counted, marked, or refused by its line.

Hours of clock changes: time zone database.
"""

from datetime import datetime

import pytest

from collection.intake.files.refused_workbook import write_workbook
from schemas.errors import SourceRefused
from tests.collection.intake.logger_files import bring, held, lines, opened, stamp


def test_lowest_and_highest_of_a_day_are_no_readings(housed, tmp_path):
    path = tmp_path / "days.csv"
    path.write_text(
        "logger,date,min °C,max °C,min RH %,max RH %\nL-1,2024-03-11,17,21,40,50\nL-1,2024-03-12,17,21,40,50\n"
    )

    with pytest.raises(SourceRefused, match="no readings"):
        opened(housed, path)


def test_codes_of_a_failed_sensor_are_counted_and_the_good_value_beside_them_stays(housed, tmp_path):
    rows = [
        "logger,time UTC,temp °C,RH %",
        "L-1,2024-03-11 10:00,18.5,45",
        "L-1,2024-03-11 11:00,-999,45.5",
        "L-1,2024-03-11 12:00,18.6,Err",
    ]
    rows += [
        "L-1,2024-03-11 13:00,---,NaN",
        "L-1,2024-03-11 14:00,-40,0",
        "L-1,2024-03-11 15:00,-40,60",
        "L-1,2024-03-11 16:00,18.5,46",
    ]
    path = tmp_path / "codes.csv"
    path.write_text("\n".join(rows))

    result = bring(housed, path)

    assert [(t.hour, a, b) for _, _, t, a, b in held(housed)] == [(10, 18.5, 45), (11, None, 45.5), (12, 18.6, None), (15, -40, 60), (16, 18.5, 46)]  # fmt: skip
    cells = {(r["column"], r["cells"], tuple(r["examples"])) for r in result.unread.cells.to_dicts()}
    assert cells == {("temperature_c", 1, ("-999",)), ("rh_percent", 1, ("Err",))}
    assert result.refused["source_row"].to_list() == [5, 6]
    assert '"temperature_c":"---","rh_percent":"NaN"' in result.refused["cells"][0]
    assert set(result.problems.filter(level="refuse")["rule"]) == {"reading_without_value"}


def test_both_hours_that_autumn_repeats_stay_and_are_marked(housed, tmp_path):
    """27 October 2024: 02:30 in Berlin is 00:30 and 01:30 UTC; 31 March: 02:30 did not exist and was 01:30 UTC."""
    times = [
        "2024-10-27 01:30",
        "2024-10-27 02:00",
        "2024-10-27 02:30",
        "2024-10-27 02:00",
        "2024-10-27 02:30",
        "2024-10-27 03:00",
    ]
    path = tmp_path / "autumn.csv"
    path.write_text(
        "\n".join(
            [
                "logger,time,temp °C,RH %",
                *(f"L-1,{t},18.{n},45" for n, t in enumerate(times)),
                "L-1,2025-03-30 02:30,19,45",
            ]
        )
    )

    result = bring(housed, path, {"zone": "Europe/Berlin"})

    assert [(t.day, t.hour, t.minute) for _, _, t, _, _ in held(housed)] == [(26, 23, 30), (27, 0, 0), (27, 0, 30), (27, 1, 0), (27, 1, 30), (27, 2, 0), (30, 1, 30)]  # fmt: skip
    assert result.files["refused"].item() == 0
    gaps = housed.read()["logger_gap"].filter(kind="clock").select("starts_at", "ends_at").rows()
    assert gaps == [(datetime(2024, 10, 27), datetime(2024, 10, 27, 1, 30)), (datetime(2025, 3, 30, 1, 30),) * 2]


def test_the_same_file_again_brings_nothing_and_a_row_of_another_length_is_refused_by_its_line(housed, tmp_path):
    path = tmp_path / "log.csv"
    path.write_text(
        lines(["logger,time UTC,temp °C,RH %"], lambda t, a, b: f"L-1,{stamp(t)},{a},{b}")
        + "L-1,2024-03-20 10:00,18\nL-1,soon,18,45\nend of file\n"
    )

    first = bring(housed, path)
    again = bring(housed, path)

    assert first.written.added["climate_reading"] == 30
    assert sorted(first.refused["source_row"]) == [32, 33]
    assert again.files.select("new", "unchanged").row(0) == (0, 30)


def test_readings_that_are_still_to_come_are_refused(housed, tmp_path):
    path = tmp_path / "log.csv"
    path.write_text("logger,time UTC,temp °C,RH %\nL-1,2026-09-30 10:00,18,45\nL-1,2027-09-30 10:00,18,45\n")

    result = bring(housed, path)

    assert [t.year for _, _, t, _, _ in held(housed)] == [2026]
    assert result.refused["source_row"].to_list() == [3]
    assert result.problems.filter(level="refuse")["rule"].to_list() == ["reading_in_future"]


def test_an_odd_first_reading_is_no_heading_and_is_refused_by_its_line(housed, tmp_path):
    path = tmp_path / "log.csv"
    path.write_text(
        "logger,time UTC,temp °C,RH %\nL-1,soon,18,45\nL-1,2024-03-12 10:00,18,45\nL-1,2024-03-12 11:00,18.5,45\n"
    )

    result = bring(housed, path)

    assert [a for _, _, _, a, _ in held(housed)] == [18, 18.5]
    assert result.refused["source_row"].to_list() == [2]


def test_a_stray_quote_costs_its_row_only(housed, tmp_path):
    path = tmp_path / "log.csv"
    rows = ["L-1,2024-03-12 10:00,18,45", 'L-1,2024-03-12 11:00,"18,45', "L-1,2024-03-12 12:00,19,45"]
    path.write_text("\n".join(["logger,time UTC,temp °C,RH %", *rows]))

    result = bring(housed, path)

    assert [t.hour for _, _, t, _, _ in held(housed)] == [10, 12]
    assert result.refused["source_row"].to_list() == [3]


def test_one_reading_is_a_file_too_and_a_list_of_checks_with_its_climate_is_none(housed, tmp_path):
    (tmp_path / "one.csv").write_text("logger,time UTC,temp °C,RH %\nL-1,2024-03-12 10:00,18,45\n")
    (tmp_path / "checks.csv").write_text(
        "object_id,checked_on,temperature,RH,examiner\nV.1,2024-03-01,18,45,Ada\nV.2,2024-03-02,18,45,Ada\n"
    )

    bring(housed, tmp_path / "one.csv")

    assert len(held(housed)) == 1
    assert {s.mapping.logger for s in opened(housed, tmp_path / "checks.csv").sources} == {None}


@pytest.mark.parametrize(
    ("heading", "cell", "lux"),
    [("light (lx)", "50", 50), ("illuminance [klx]", "0.05", 50), ("Licht lx", "1,250", 1250)],
)
def test_light_comes_in_with_the_rest(housed, tmp_path, heading, cell, lux):
    path = tmp_path / "log.csv"
    rows = [f"L-1;2024-03-12 1{n}:00;18;45;{value}" for n, value in enumerate((cell, "900"))]
    path.write_text("\n".join([f"logger;time UTC;temp °C;RH %;{heading}", *rows]))

    bring(housed, path)

    assert housed.read_record("climate_reading")["lux"][0] == pytest.approx(lux)


def test_headings_that_nobody_needs_are_named(housed, tmp_path):
    path = tmp_path / "log.csv"
    path.write_text(
        "logger,time UTC,temp °C,RH %,dew point °C,battery V\nL-1,2024-03-12 10:00,18,45,6,3.1\nL-1,2024-03-12 11:00,18,45,6,3.1\n"
    )

    assert bring(housed, path).unread.headings == {"log.csv": ["dew point °C", "battery V"]}


def test_a_refused_row_comes_back_with_its_time_in_utc_and_an_empty_one_is_refused_again(housed, tmp_path):
    path, back = tmp_path / "log.csv", tmp_path / "back.xlsx"
    path.write_text(
        "logger,time,temp °C,RH %\nL-1,2024-07-12 10:00,18,45\nL-1,2024-07-12 11:00,Err,---\nL-1,2024-07-12 12:00,18.5\n"
    )
    first = bring(housed, path, {"zone": "Europe/Berlin"})
    write_workbook(first.refused, back)

    again = bring(housed, back)

    assert [(t.hour, a) for _, _, t, a, _ in held(housed)] == [(8, 18), (10, 18.5)]
    assert again.problems.filter(level="refuse")["rule"].to_list() == ["reading_without_value"]


def test_readings_of_a_logger_come_in_by_a_file_too(tmp_path, bring_in, store):
    path = tmp_path / "log.csv"
    lines = [
        "logger_id,read_at,temperature_c,rh_percent",
        "L1,2026-01-01T00:00:00,20.5,44",
        "L1,2026-01-01T01:00:00Z,21,45",
        "L1,soon,21,45",
    ]
    path.write_text("\n".join(lines), "utf-8")

    result = bring_in(path)
    again = bring_in(path)

    assert result.written.added["climate_reading"] == 2
    assert result.problems["rule"].to_list() == ["impossible_date"]
    assert again.written.added["climate_reading"] == 0
