"""The page that brings a file in, run from the entry script: what it is taken for, what would happen, doing it."""

import time

import polars as pl
import pytest

from collection.store import Store
from dashboard import bringing_in
from dashboard.background import Task
from schemas.errors import StoreBusy, StoreUnwritable
from tests.dashboard.bringing import CATALOGUE, bring, field, show

CHECKS = b"""Inv. no.,Date,Surveyor,Condition,Remarks,Lifting
A.1,03/04/2024,R. Alder,2,stable,
A.2,05/06/2024,R. Alder,3,chipped at the rim,x
"""


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
