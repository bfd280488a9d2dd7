"""The page that brings a file in, run from the entry script: what it is taken for, what would happen, doing it."""

import time

import polars as pl
import pytest

from collection.store import Store
from dashboard import bringing_in
from dashboard.background import Task
from schemas.errors import StoreBusy, StoreUnwritable
from tests.dashboard.planted import EVERYTHING

CATALOGUE = b"""Inv. no.;Title;Material;Height;Colour
A.1;Bowl;Enamel on copper;12;blue
A.2;Tray;Champleve enamel on copper alloy;30;green
"""
CHECKS = b"""Inv. no.,Date,Surveyor,Condition,Remarks,Lifting
A.1,03/04/2024,R. Alder,2,stable,
A.2,05/06/2024,R. Alder,3,chipped at the rim,x
"""
LOGGER = b"""Date,Time,Temperature,Humidity (%RH)
03/04/2024,10:00,20.5,45
03/04/2024,11:00,20.6,46
"""


@pytest.fixture
def choose(page, store: Store):
    """Choose a file on the page, in a folder without a store or on the store that is there."""

    def chosen(name, data, app=None):
        app = app or page("bring_in", store)
        return app.file_uploader[0].upload(name, data).run()

    return chosen


def field(app, name):
    return next(box for box in app.selectbox if name in box.label)


def show(app):
    return app.button(key="show").click().run()


def bring(app, who="Ida"):
    app.text_input(key="bring_in_by").set_value(who).run()
    return app.button(key="bring").click().run()


@pytest.fixture
def here(bring_in, write_csv):
    """The objects of the catalogue are in the register."""
    bring_in(write_csv("first.csv", *CATALOGUE.decode().splitlines()))


def test_from_nothing_a_catalogue_is_chosen_shown_and_brought_in(choose, store, said, answer):
    app = choose("catalogue.csv", CATALOGUE)
    assert "\u2018Inv. no.\u2019 heads the number, and 4 of its 5 headings are known for it." in said(app)
    assert "<b>Title</b><br>Bowl \u00b7 Tray" in said(app)
    assert field(app, "What \u2018Colour\u2019 means").value == ""
    field(app, "Which unit is meant").set_value("cm").run()
    field(app, "What \u2018Colour\u2019 means").set_value("description").run()

    show(app)
    assert "2 rows: 2 would be new. Nothing is written yet." in said(app)
    assert not store.exists()
    app.button(key="bring").click().run()
    assert "First give your name." in said(app)
    bring(app)

    assert "catalogue.csv is brought in as D1. 2 rows: 2 new." in answer(app)
    rows = store.read()["object"]
    assert rows["height_mm"].to_list() == [120, 300]
    assert rows["description"].to_list() == ["blue", "green"]
    assert store.deliveries()["made_by"].to_list() == ["Ida"]
    assert "What D1 changed, and undo" in said(app)


def test_what_was_chosen_is_remembered_for_page_and_command_alike(choose, enamels, write_csv, said):
    app = choose("catalogue.csv", CATALOGUE)
    field(app, "Which unit is meant").set_value("cm").run()
    bring(show(app))

    app.button(key="another").click().run()
    choose("more.csv", CATALOGUE.replace(b"A.", b"B."), app)
    assert "read with the mapping of" in said(app)
    assert field(app, "Which unit is meant").value == "cm"
    write_csv("again.csv", *CATALOGUE.decode().replace("A.", "C.").splitlines())
    _, out, _ = enamels("intake", "again.csv", "--yes")
    assert "again.csv: read with the mapping of" in out
    assert "size_not_read" not in out


@pytest.mark.usefixtures("here")
def test_a_list_of_checks_is_never_guessed_and_its_questions_are_answered_by_choosing(choose, store, said):
    app = choose("checks.csv", CHECKS)
    assert "which of the two is it?" in said(app)
    assert app.button(key="show").disabled

    field(app, "It is").set_value("condition_check").run()
    assert app.button(key="show").disabled
    day = field(app, "What is 03/04/2024?")
    assert day.options == ["3 April 2024 (dd/mm/yyyy)", "4 March 2024 (mm/dd/yyyy)"]
    day.set_value("dd/mm/yyyy").run()
    field(app, "Under \u2018Condition\u2019 stands \u20182\u2019").set_value("good").run()
    field(app, "What \u2018Lifting\u2019 means").set_value("damage:lifting").run()
    show(app)
    assert "Overall grade: the worst single condition: 1 cell" in said(app)
    bring(app)

    checks = store.read()["condition_check"].filter(pl.col("checked_on").is_not_null())
    assert checks.select("check_id", "grade").rows() == [("A.1/2024-04-03", "good"), ("A.2/2024-06-05", None)]
    assert "lifting" in store.read()["damage"]["kind"].to_list()


@pytest.mark.usefixtures("here")
def test_cells_of_objects_that_are_here_are_shown_before_they_change(choose, store, said):
    app = show(choose("mended.csv", CATALOGUE.replace(b"Bowl", b"Dish")))

    assert "2 rows: 1 would be changed, 1 unchanged." in said(app)
    assert app.dataframe[0].value["For example"].to_list()[-1] == "A.1: Bowl \N{RIGHTWARDS ARROW} Dish"
    assert store.read()["object"]["title"].to_list() == ["Bowl", "Tray"]


def test_what_was_chosen_stays_on_other_pages_and_after_an_error(choose, store, said, monkeypatch):
    app = choose("catalogue.csv", CATALOGUE)
    field(app, "Which unit is meant").set_value("cm").run()
    app.switch_page("views/deliveries.py").run()
    app.switch_page("views/bring_in.py").run()
    assert field(app, "Which unit is meant").value == "cm"

    show(app)
    with monkeypatch.context() as broken:
        for error in (StoreBusy, StoreUnwritable):
            broken.setattr(Store, "write", lambda *_, e=error, **__: _raise(e("s.duckdb", "it is held", "", "Wait.")))
            bring(app)
            assert "s.duckdb: it is held. Wait. What you chose stays as it is." in said(app)
            assert app.text_input(key="bring_in_by").value == "Ida"
    app.button(key="bring").click().run()
    assert store.read()["object"]["height_mm"].to_list() == [120, 300]


def _raise(error):
    raise error


def test_a_change_of_what_was_chosen_is_shown_anew_before_it_is_brought_in(choose, said):
    app = show(choose("catalogue.csv", CATALOGUE))
    field(app, "What \u2018Colour\u2019 means").set_value("description").run()

    assert "What you chose has changed since" in said(app)
    assert not [b for b in app.button if b.key == "bring"]


def test_where_the_register_has_changed_meanwhile_nothing_is_written_unseen(choose, store, said, bring_in, write_csv):
    app = show(choose("catalogue.csv", CATALOGUE))
    bring_in(write_csv("first.csv", "Inv. no.,Title", "A.1,Jug"))

    bring(app)

    assert "The register has changed since" in said(app)
    assert store.read()["object"]["title"].to_list() == ["Jug"]
    app.button(key="show_again").click().run()
    assert "2 rows: 1 would be new, 1 changed." in said(app)
    app.button(key="bring").click().run()
    assert store.read()["object"]["title"].to_list() == ["Bowl", "Tray"]


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


def test_work_that_is_stopped_ends_before_it_writes():
    done = []

    def steps(task):
        task.stop()
        task.comes_to(bringing_in.WRITING)
        done.append("written")
        yield "done", 1

    task = Task(steps, alone=False)

    assert task.wait(10)
    assert (done, task.results, task.error, task.failed) == ([], {}, None, False)


def test_on_the_page_work_is_followed_and_stopped_before_it_writes(choose, store, said, monkeypatch):
    app = show(choose("catalogue.csv", CATALOGUE))
    monkeypatch.setattr("dashboard.plan_work.PATIENCE_S", 0.0)
    monkeypatch.setattr("dashboard.bringing_in._examined", _until_stopped)
    bring(app)
    task = app.session_state["bring_in_draft"].bringing
    while not task.words:
        assert not task.done
    assert "Reading row 1" in said(app.run())

    app.button(key="stop_bring").click().run()
    assert task.wait(10)

    assert "Stopped. Nothing was written; what you chose stays as it is." in said(app.run())
    assert not store.exists()


def _until_stopped(task, *_, **__):
    while True:
        task.comes_to("Reading row 1")
        time.sleep(0.01)


def test_a_file_lies_on_the_disk_only_while_it_is_read(choose, monkeypatch, tmp_path):
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))

    show(choose("catalogue.csv", CATALOGUE))

    assert list(tmp_path.glob("enamels-*")) == []
