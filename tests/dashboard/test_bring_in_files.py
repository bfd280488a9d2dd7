"""Files of every kind on the page that brings them in: none that can be read, sheets, a logger's, one whose text is to be obeyed."""

import polars as pl
import pytest

from dashboard import bringing_in
from tests.dashboard.bringing import CATALOGUE, bring, field, show
from tests.dashboard.planted import EVERYTHING

LOGGER = b"""Date,Time,Temperature,Humidity (%RH)
03/04/2024,10:00,20.5,45
03/04/2024,11:00,20.6,46
"""


@pytest.mark.parametrize(
    ("name", "data", "says"),
    [
        ("note.txt", b"", "note.txt: the file is empty. Expected: a text table"),
        ("photo.csv", b"\x89PNG\0\0\0\0", "photo.csv: this is not a text table."),
        ("book.xlsx", b"PK\x03\x04 no workbook", "book.xlsx: this is not a workbook."),
        ("..", b"a", ": "),
    ],
)
def test_a_file_that_cannot_be_read_is_said_and_another_can_be_chosen(name, data, says, choose, said):
    app = choose(name, data)

    assert says in said(app)
    assert "fault of the dashboard" not in said(app)
    choose("catalogue.csv", CATALOGUE, app.button(key="another").click().run())
    assert field(app, "It is").value == "object"


def test_a_file_beyond_the_limit_is_refused_before_it_is_read(choose, said, monkeypatch):
    monkeypatch.setattr(bringing_in, "MEGABYTE", 1)
    monkeypatch.setattr("dashboard.bringing_in.look_into", None)

    assert "catalogue.csv: the file has 204 MB. Expected: at most 200 MB." in said(
        choose("catalogue.csv", CATALOGUE + b" " * (204 - len(CATALOGUE)))
    )


def test_a_file_whose_headings_say_nothing_is_told_what_it_holds(choose, store, said):
    app = choose("odd.csv", b"kz,wv\nA.1,Bowl\n")
    assert "say what it holds" in said(app)
    assert app.button(key="show").disabled
    field(app, "It is").set_value("object").run()
    assert "No heading is mapped to \u2018The museum" in said(app).replace("&#x27;", "'")

    field(app, "What \u2018kz\u2019 means").set_value("object_id").run()
    field(app, "What \u2018wv\u2019 means").set_value("title").run()
    bring(show(app))

    assert store.read()["object"].select("object_id", "title").rows() == [("A.1", "Bowl")]


def test_the_sheets_of_a_workbook_are_told_apart_and_one_may_be_left_out(choose, store, write_xlsx):
    book = write_xlsx(
        "b.xlsx", Silver=[["Inv. no.", "Title"], ["A.1", "Bowl"]], Old=[["Inv. no.", "Title"], ["Z.1", "Lid"]]
    )
    app = choose("b.xlsx", book.read_bytes())
    records = [box for box in app.selectbox if box.label == "It is"]
    records[1].set_value("").run()

    bring(show(app))

    assert store.read()["object"]["object_id"].to_list() == ["A.1"]


def test_the_questions_of_a_loggers_file_are_answered_by_choosing(choose, store, put, said):
    put(location=pl.DataFrame({"location_id": ["L2"], "name": ["Lower Store"]}))
    app = choose("attic.csv", LOGGER)
    assert "those of a logger" in said(app)
    app.text_input[0].set_value("T1").run()
    for label, value in (
        ("no zone", "UTC"),
        ("order|told apart", "dd/mm/yyyy"),
        ("no unit", "\u00b0C"),
        ("in which place", "L2"),
    ):
        box = next(b for b in app.selectbox if any(w in b.label for w in label.split("|")))
        box.set_value(value).run()
    assert "You answered: name T1, zone UTC, order dd/mm/yyyy, temperature \u00b0C, T1 in L2." in said(app)

    bring(show(app))

    with store.reading() as con:
        assert con.sql("SELECT count(*) FROM climate_reading").fetchall() == [(2,)]


def test_text_of_a_file_is_shown_and_never_obeyed(choose, said):
    app = choose("b.csv", f'Inv. no.,"{EVERYTHING.replace(chr(34), chr(34) * 2)}"\nA.1,x\n'.encode())

    assert "<img" not in said(app)
    assert not [box.label for box in app.selectbox if set(box.label) & set("[]()<>$:*`")]


def test_a_file_lies_on_the_disk_only_while_it_is_read(choose, monkeypatch, tmp_path):
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))

    show(choose("catalogue.csv", CATALOGUE))

    assert list(tmp_path.glob("enamels-*")) == []
