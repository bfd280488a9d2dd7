"""Files as loggers write them, invented: each is right as it is or asks; none is wrong, none emptied in silence.

Conversions: °C = (°F - 32) / 1.8 and K - 273.15 (NIST SP 811, appendix B).
"""

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

import pytest
import xlsxwriter

from collection.intake import pipeline as way_in
from collection.snapshot import Collection
from collection.store import Store
from tests.collection.intake.logger_files import (
    LONDON,
    START,
    Reading,
    answered,
    as_rows,
    bring,
    held,
    lines,
    opened,
    stamp,
    usual,
)


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
def known(furnished: Store) -> Collection:
    """What the store with the places holds."""
    return furnished.read()


@pytest.mark.parametrize("shape", SHAPES, ids=lambda s: s.name)
def test_a_shape_is_right_as_it_is_or_asks(shape, known, judge, tmp_path):
    path = tmp_path / shape.file
    path.write_bytes(shape.text.encode(shape.encoding))

    asked = sorted(q.key for _, q in way_in.open_files([path], known).questions)
    judged = judge(path, saved=answered(shape.answers), held=known)

    assert asked == sorted(shape.asks)
    assert as_rows(judged.readings()) == sorted(shape.readings, key=lambda r: (r[0], r[2]))
    assert judged.answer.files.select("rows", "new", "refused").row(0) == (len(shape.readings), len(shape.readings), 0)


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
