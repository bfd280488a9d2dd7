"""Files as loggers write them, invented: each is right as it is or asks; none is wrong, none emptied in silence.

Conversions: °C = (°F - 32) / 1.8 and K - 273.15 (NIST SP 811, appendix B); hours of clock changes: time zone database.
"""

import shutil
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import polars as pl
import pytest
import xlsxwriter

from collection.intake import pipeline as way_in
from collection.intake.files.refused_workbook import write_workbook
from collection.intake.mapping.load import ANY_SHEET
from collection.intake.mapping.mapping import ColumnMap, LoggerAnswers
from collection.snapshot import Collection
from collection.store import Change, Store
from schemas.errors import SourceRefused
from tests.demonstration import TODAY

PLACES = pl.DataFrame({"location_id": ["E1", "E2", "E3"], "name": ["Room one", "Room two", "Attic"], "logger_id": ["L-1", "L-2", None]})  # fmt: skip
START = datetime(2024, 3, 11, 10)
Reading = tuple[str, str | None, datetime, float | None, float | None]
LONDON = {"zone": "Europe/London"}  # UTC in March before the 31st


def hours(count: int, start: datetime = START) -> list[datetime]:
    return [start + timedelta(hours=n) for n in range(count)]


def usual(logger: str = "L-1", place: str | None = "E1", start: datetime = START, count: int = 30) -> list[Reading]:
    """Thirty readings, an hour between them: 18.0 °C and 45.0 %, a tenth more each hour."""
    return [(logger, place, t, round(18 + n / 10, 1), round(45 + n / 10, 1)) for n, t in enumerate(hours(count, start))]


def lines(head: list[str], line: Callable[[datetime, float, float], str], count: int = 30) -> str:
    return "\n".join([*head, *(line(t, a, b) for _, _, t, a, b in usual(count=count))]) + "\n"  # type: ignore[arg-type]


def de(value: float) -> str:
    return f"{value:.1f}".replace(".", ",")


@dataclass(frozen=True)
class Shape:
    """`text` of the file, the questions it asks by their key, the answers given, and the readings it must become."""

    name: str
    text: str
    asks: list[tuple[str, ...]] = field(default_factory=list)
    answers: dict[str, Any] = field(default_factory=dict)
    readings: list[Reading] = field(default_factory=usual)
    file: str = "export.csv"
    encoding: str = "utf-8"


def stamp(t: datetime) -> str:
    return f"{t:%Y-%m-%d %H:%M:%S}"


ZONE: list[tuple[str, ...]] = [("zone",)]
SHAPES = [
    Shape("ISO times and a column for the logger", lines(["logger,time,temp °C,RH %"], lambda t, a, b: f"L-1,{stamp(t)},{a},{b}"), ZONE, LONDON),
    Shape("times with their zone", lines(["logger,time,temp °C,RH %"], lambda t, a, b: f"L-1,{t + timedelta(hours=2):%Y-%m-%dT%H:%M:%S}+02:00,{a},{b}")),
    Shape("times with a Z and thousandths", lines(["sensor,timestamp,T (°C),RH (%)"], lambda t, a, b: f"L-1,{t:%Y-%m-%dT%H:%M:%S}.000Z,{a},{b}")),
    Shape("times without seconds, zone in the heading", lines(["logger,time (UTC+1),temp °C,RH %"], lambda t, a, b: f"L-1,{t + timedelta(hours=1):%Y-%m-%d %H:%M},{a},{b}")),
    Shape("light beside them", lines(["logger,time UTC,temp °C,RH %,light (lx)"], lambda t, a, b: f"L-1,{stamp(t)},{a},{b},50")),
    Shape("semicolon and decimal comma", lines(["Logger;Zeitpunkt (UTC);Temperatur [°C];rel. Feuchte [%]"], lambda t, a, b: f"L-1;{t:%d.%m.%Y %H:%M};{de(a)};{de(b)}"), encoding="cp1252"),
    Shape("a title line, numbered rows, AM and PM",
          lines(["Report of L-1, east wing", "#,When (UTC),Temp °F,RH %"], lambda t, a, b: f"7,{t:%m/%d/%Y %I:%M:%S %p},{a * 1.8 + 32:.2f},{b}").replace("When", "Date Time"),
          [("name",)], {"name": "L-1"}),
    Shape("twelve lines of head, date and time apart, serial number in the head",
          lines(["Readings", "Serial number: L-1", "Type: climate", "Interval: 60 min", "Start: 11/03/2024", "Rows: 30", "Battery: good", "Time zone: UTC+1", "Alarm: off", "", "", "Date\tTime\tTemperature (°C)\tHumidity (%RH)"],
                lambda t, a, b: f"{t + timedelta(hours=1):%d/%m/%Y}\t{t + timedelta(hours=1):%H:%M}\t{a}\t{b}"), file="export.txt"),
    Shape("units in the cells", lines(["Datum;Uhrzeit;Temperatur;Luftfeuchte"], lambda t, a, b: f"{t:%d.%m.%Y};{t:%H:%M};{de(a)} °C;{de(b)} % rF"),
          [("name",), ("zone",)], {"name": "L-1", "zone": "UTC"}),
    Shape("rooms side by side under merged headings",
          lines([",Room one,,Room two,", "time (UTC),°C,%RH,°C,%RH"], lambda t, a, b: f"{stamp(t)},{a},{b},{a},{b}"), readings=usual() + usual("L-2", "E2")),
    Shape("loggers side by side, a column a logger", lines(["time (UTC),L-1 °C,L-1 %RH,L-2 °C,L-2 %RH"], lambda t, a, b: f"{stamp(t)},{a},{b},{a},{b}"), readings=usual() + usual("L-2", "E2")),
    Shape("pairs of columns with a clock each, unnamed",
          lines(["time (UTC),°C,%RH,time (UTC),°C,%RH"], lambda t, a, b: f"{stamp(t)},{a},{b},{stamp(t)},{a},{b}"),
          [("names", "pair 1"), ("names", "pair 2")], {"names": {"pair 1": "L-1", "pair 2": "L-2"}}, usual() + usual("L-2", "E2")),
    Shape("days counted as a spreadsheet does", lines(["logger,date/time,temp °C,RH %"], lambda t, a, b: f"L-1,{(t - datetime(1899, 12, 30)).total_seconds() / 86400:.8f},{a},{b}"), ZONE, LONDON),
    Shape("seconds since 1970", lines(["logger,unix time,temp °C,RH %"], lambda t, a, b: f"L-1,{int((t - datetime(1970, 1, 1)).total_seconds())},{a},{b}")),
    Shape("thousandths since 1970", lines(["logger,epoch,temp °C,RH %"], lambda t, a, b: f"L-1,{int((t - datetime(1970, 1, 1)).total_seconds())}000,{a},{b}")),
    Shape("day first, proved by the dates", lines(["logger,time,temp °C,RH %"], lambda t, a, b: f"L-1,{t + timedelta(days=4):%d/%m/%Y %H:%M},{a},{b}"), ZONE, LONDON, usual(start=START + timedelta(days=4))),
    Shape("month first, proved by even steps", lines(["logger,time,temp °C,RH %"], lambda t, a, b: f"L-1,{t - timedelta(days=6):%m/%d/%Y %I:%M %p},{a},{b}", 60), ZONE, LONDON, usual(start=START - timedelta(days=6), count=60)),
    Shape("day and month that nothing tells apart", lines(["logger,time,temp °C,RH %"], lambda t, a, b: f"L-1,{t - timedelta(days=6):%d/%m/%Y %H:%M},{a},{b}", 10), [("order",), ("zone",)], {"order": "dd/mm/yyyy", **LONDON}, usual(start=START - timedelta(days=6), count=10)),
    Shape("German words", lines(["Seriennummer;L-1", "Zeitzone;MEZ", "", "Datum Zeit;Temperatur °C;Luftfeuchtigkeit %;Taupunkt °C"], lambda t, a, b: f"{t + timedelta(hours=1):%d}. März 2024 {t + timedelta(hours=1):%H:%M};{de(a)};{de(b)};5,1")),
    Shape("French words, day and month in letters", lines(["enregistreur;date et heure (UTC);température °C;humidité relative %"], lambda t, a, b: f"L-1;{t:%d} mars 2024 {t:%Hh%M};{de(a)};{de(b)}")),
    Shape("humidity as a share with a decimal comma", lines(["logger;time UTC;temp °C;RH"], lambda t, a, b: f"L-1;{stamp(t)};{de(a)};{b / 100:.3f}".replace("0.", "0,")), [("humidity",)], {"humidity": "share"}),
    Shape("degrees Fahrenheit", lines(["logger,time UTC,temp °F,RH %"], lambda t, a, b: f"L-1,{stamp(t)},{a * 1.8 + 32:.2f},{b}")),
    Shape("kelvin", lines(["logger,time UTC,temp (K),RH %"], lambda t, a, b: f"L-1,{stamp(t)},{a + 273.15:.2f},{b}")),
    Shape("temperature without a unit", lines(["logger,time UTC,Temp,RH"], lambda t, a, b: f"L-1,{stamp(t)},{a},{b}"), [("temperature",)], {"temperature": "°C"}),
    Shape("units in a row of their own", lines(["logger,time,temperature,humidity", ",UTC,°C,%"], lambda t, a, b: f"L-1,{stamp(t)},{a},{b}")),
    Shape("four rows of headings", lines([",Climate,", ",east wing,", "time UTC,temperature,humidity", ",°C,%"], lambda t, a, b: f"{stamp(t)},{a},{b}"), [("name",)], {"name": "L-1"}),
    Shape("a place instead of a logger", lines(["room,time UTC,temp °C,RH %"], lambda t, a, b: f"Room two,{stamp(t)},{a},{b}"), readings=usual("L-2", "E2")),
    Shape("several loggers in a file, block by block",
          lines(["Serial number,L-1,,", "time UTC,°C,%RH"], lambda t, a, b: f"{stamp(t)},{a},{b}") + lines(["", "Serial number,L-2,,", "time UTC,°C,%RH"], lambda t, a, b: f"{stamp(t)},{a},{b}"), readings=usual() + usual("L-2", "E2")),
    Shape("several loggers in a file by a column", lines(["logger,time UTC,temp °C,RH %"], lambda t, a, b: f"L-1,{stamp(t)},{a},{b}\nL-2,{stamp(t)},{a},{b}"), readings=usual() + usual("L-2", "E2")),
    Shape("a logger that no place names", lines(["logger,time UTC,temp °C,RH %"], lambda t, a, b: f"L-9,{stamp(t)},{a},{b}"), [("places", "L-9")], {"places": {"L-9": "E3"}}, usual("L-9", "E3")),
    Shape("mean, lowest and highest", lines(["logger,time UTC,mean °C,min °C,max °C,RH %"], lambda t, a, b: f"L-1,{stamp(t)},{a},{a - 1},{a + 1},{b}")),
    Shape("two-digit years", lines(["logger;time UTC;temp °C;RH %"], lambda t, a, b: f"L-1;{t + timedelta(days=4):%d-%m-%y %H:%M};{a};{b}"), readings=usual(start=START + timedelta(days=4))),
]  # fmt: skip


@pytest.fixture(scope="module")
def furnished(tmp_path_factory: pytest.TempPathFactory) -> Store:
    """A store with the places; to be copied and never written to."""
    store = Store(tmp_path_factory.mktemp("places") / "enamels.duckdb")
    store.write(Change({"location": PLACES}), by="ada")
    return store


@pytest.fixture(scope="module")
def known(furnished: Store) -> Collection:
    """What the store with the places holds."""
    return furnished.read()


@pytest.fixture
def housed(store: Store, furnished: Store) -> Store:
    shutil.copyfile(furnished.path, store.path)
    return store


def answered(answers: dict[str, Any] | None) -> dict[str, ColumnMap]:
    return {ANY_SHEET: ColumnMap("climate_reading", {}, logger=LoggerAnswers(**answers))} if answers else {}


def opened(store: Store, path: Path, answers: dict[str, Any] | None = None) -> way_in.Opened:
    return way_in.open_files([path], way_in.remembered_in(store), None, answered(answers))


def bring(store: Store, path: Path, answers: dict[str, Any] | None = None) -> way_in.Intake:
    return way_in.intake(store, opened(store, path, answers), way_in.held_or_empty(store), by="ada", today=TODAY)


def held(store: Store) -> list[Reading]:
    return as_rows(store.read_record("climate_reading"))


def as_rows(readings: pl.DataFrame) -> list[Reading]:
    names = ["logger_id", "location_id", "read_at", "temperature_c", "rh_percent"]
    frame = readings.sort("logger_id", "read_at")
    return frame.select(*names[:3], pl.col(names[3]).round(2), pl.col(names[4]).round(2)).rows()


@pytest.mark.parametrize("shape", SHAPES, ids=lambda s: s.name)
def test_a_shape_is_right_as_it_is_or_asks(shape, known, judge, tmp_path):
    path = tmp_path / shape.file
    path.write_bytes(shape.text.encode(shape.encoding))

    asked = sorted(q.key for _, q in way_in.open_files([path], known).questions)
    judged = judge(path, saved=answered(shape.answers), held=known)

    assert asked == sorted(shape.asks)
    assert as_rows(judged.readings()) == sorted(shape.readings, key=lambda r: (r[0], r[2]))
    assert judged.answer.files.select("rows", "new", "refused").row(0) == (len(shape.readings), len(shape.readings), 0)


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


def test_a_zone_is_asked_once_for_a_logger_and_said_when_it_is_used_again(housed, tmp_path):
    for month in (3, 4):
        (tmp_path / f"{month}.csv").write_text(
            f"logger,time,temp °C,RH %\nL-1,2024-{month:02d}-12 10:00,18,45\nL-1,2024-{month:02d}-12 11:00,18,45\n"
        )
    bring(housed, tmp_path / "3.csv", {"zone": "Europe/Berlin"})

    second = bring(housed, tmp_path / "4.csv")

    assert [t.hour for _, _, t, _, _ in held(housed)] == [9, 10, 8, 9]
    assert any("L-1" in line for line in second.mappings_remembered)


def test_a_workbook_of_a_logger_a_sheet_is_read_like_text(housed, tmp_path):
    path = tmp_path / "both.xlsx"
    with xlsxwriter.Workbook(path, {"default_date_format": "yyyy-mm-dd hh:mm"}) as book:
        for name in ("L-1", "L-2"):
            sheet = book.add_worksheet(name)
            sheet.write_row(0, 0, ["Time (UTC)", "Temperature °C", "Humidity %RH"])
            for n, (_, _, t, a, b) in enumerate(usual(), start=1):
                sheet.write_datetime(n, 0, t)
                sheet.write_row(n, 1, [a, b])

    assert opened(housed, path).questions == []
    bring(housed, path)

    assert held(housed) == usual() + usual("L-2", "E2")


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


def test_two_places_that_name_one_logger_are_asked_about(housed, tmp_path):
    housed.write(Change({"location": pl.DataFrame({"location_id": ["E4"], "logger_id": ["L-1"]})}), by="ada")
    path = tmp_path / "log.csv"
    path.write_text(lines(["logger,time UTC,temp °C,RH %"], lambda t, a, b: f"L-1,{stamp(t)},{a},{b}"))

    ((_, question),) = opened(housed, path).questions

    assert question.key == ("places", "L-1")
    assert question.examples == ("E1", "E4")


def test_without_a_terminal_the_questions_are_the_answer_and_the_mapping_takes_the_answers(enamels, tmp_path):
    (tmp_path / "log.csv").write_text(
        "logger,time,Temp,RH\nL-1,2024-03-12 10:00,66.2,45\nL-1,2024-03-12 11:00,66.2,45\n"
    )

    code, out, err = enamels("intake", "log.csv", "--yes")

    assert code == 2
    assert 'zone = ""' in out
    assert err.count("Fill in logger.") == 3  # place, zone, unit
    answered = (
        out.replace('zone = ""', 'zone = "UTC"')
        .replace('temperature = ""', 'temperature = "°F"')
        .replace('"L-1" = ""', '"L-1" = "-"')
        .replace('L-1 = ""', 'L-1 = "-"')
        .replace('{"L-1" = ""}', '{"L-1" = "-"}')
    )
    (tmp_path / "m.toml").write_text(answered, "utf-8")
    assert enamels("intake", "log.csv", "--mapping", "m.toml")[0] == 0
    assert Store(tmp_path / "enamels.duckdb").read_record("climate_reading")["temperature_c"].to_list() == [19, 19]


@pytest.mark.parametrize(
    ("entry", "says"),
    [('zone = "Mars/Base"', "no time zone"), ('order = "week"', "no order"), ('temperature = "%"', "no unit")],
)
def test_an_answer_that_is_none_is_refused(entry, says, enamels, tmp_path):
    (tmp_path / "log.csv").write_text(
        "logger,time,Temp,RH\nL-1,2024-03-12 10:00,66.2,45\nL-1,2024-03-12 11:00,66.2,45\n"
    )
    (tmp_path / "m.toml").write_text(f'record = "climate_reading"\n[logger]\n{entry}\n', "utf-8")

    code, _, err = enamels("intake", "log.csv", "--mapping", "m.toml")

    assert code == 2
    assert says in err


def test_readings_that_are_still_to_come_are_refused(housed, tmp_path):
    path = tmp_path / "log.csv"
    path.write_text("logger,time UTC,temp °C,RH %\nL-1,2026-09-30 10:00,18,45\nL-1,2027-09-30 10:00,18,45\n")

    result = bring(housed, path)

    assert [t.year for _, _, t, _, _ in held(housed)] == [2026]
    assert result.refused["source_row"].to_list() == [3]
    assert result.problems.filter(level="refuse")["rule"].to_list() == ["reading_in_future"]


def test_at_a_terminal_each_question_is_asked_once(enamels, tmp_path, monkeypatch):
    rows = ["logger,time,Temp,RH", "L-1,2024-03-12 10:00,66.2,45", "L-1,2024-03-12 11:00,66.2,45"]
    (tmp_path / "log.csv").write_text("\n".join(rows))
    given = {"places L-1": "-", "zone": "UTC", "temperature": "°F"}
    asked: list[str] = []
    monkeypatch.setattr("sys.stdin.isatty", lambda: True, raising=False)
    monkeypatch.setattr("click.prompt", lambda words, **_: asked.append(words) or given[words])

    assert enamels("intake", "log.csv", "--yes")[0] == 0
    assert sorted(asked) == sorted(given)
    assert Store(tmp_path / "enamels.duckdb").read_record("climate_reading")["temperature_c"].to_list() == [19, 19]


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
