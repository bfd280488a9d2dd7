"""Every page runs on the full, an empty and a missing store, says what it covers, and keeps what it was asked."""

import polars as pl
import pytest

from collection import pipeline
from collection.questions import air, ranking, where_lost
from collection.questions.refused_rows import refused_rows
from collection.questions.selection import Selection, select
from collection.recording import refused_rows as recording
from dashboard import charts, pages
from schemas.errors import StoreBusy
from tests.dashboard.test_charts import encodings

PAGES = tuple(its.address for its in pages.PAGES)
OF_FILES = tuple(its.address for its in pages.PAGES if not its.about_objects)
ABOUT_THE_COLLECTION = tuple(its.address for its in pages.PAGES if its.filtered)


@pytest.mark.parametrize("name", PAGES)
def test_a_page_runs_on_the_demonstration(to_read, name, said):
    app = to_read(name)

    assert not app.exception
    assert "fault of the dashboard" not in said(app)


@pytest.mark.parametrize("name", PAGES)
def test_without_a_store_a_page_says_what_would_fill_it(page, name, store, said):
    app = page(name, store)

    assert not app.exception
    assert "enamels intake" in said(app)


@pytest.mark.parametrize("name", PAGES)
def test_with_an_empty_store_too(page, name, put, store, said):
    put(setting=pl.DataFrame({"name": ["museum"], "value": ["Nowhere"]}))

    app = page(name, store)

    assert not app.exception
    assert ("no object in it yet" in said(app)) or name in OF_FILES
    assert "fault of the dashboard" not in said(app)


@pytest.mark.parametrize("name", ABOUT_THE_COLLECTION)
def test_coverage_is_said_before_anything_else(to_read, name):
    first = to_read(name).main.get("html")[0].proto.body.split("</p>")[0]

    assert "of 640 objects have been checked" in first


def test_the_answer_is_made_from_the_data(to_read, found, answer):
    rows = ranking.ranking(found, found.objects)

    assert ranking.answer(found, rows) in answer(to_read())
    assert "17 objects need attention now: 7 to secure; 8 to move" in answer(to_read())


@pytest.mark.parametrize("name", ABOUT_THE_COLLECTION)
def test_a_filter_narrows_and_keeps_the_denominator(to_read, found, name, said, answer):
    app = to_read(name, location_id="E1")

    narrowed = select(found, Selection.of(location_id="E1")).height
    assert 0 < narrowed < 640
    assert f"Shown: {narrowed} of 640 objects (East Store, room E1)" in said(app)
    coverage = found.coverage(select(found, Selection.of(location_id="E1")))
    assert f"{coverage['checked']} of {narrowed} objects have been checked" in said(app)
    assert answer(app) != answer(to_read(name))


@pytest.mark.parametrize("name", ABOUT_THE_COLLECTION)
def test_what_the_register_does_not_have_is_said(to_read, name, said):
    words = said(to_read(name, location_id="nowhere", technique="knitting"))

    assert "nowhere" in words
    assert "knitting" in words


def test_an_object_that_is_not_there_is_said(to_read, said):
    assert "no object of this number" in said(to_read("object", object_id="9999.9"))


@pytest.mark.parametrize("name", PAGES)
def test_links_between_pages_carry_the_filters(to_read, name):
    links = to_read(name, location_id="E1", find="plaque").sidebar.get("page_link")

    assert len(links) == len(PAGES)
    assert all(
        "location_id=E1" in link.proto.query_string and "find=plaque" in link.proto.query_string for link in links
    )


def test_a_widget_writes_the_address(page, said):
    app = page()

    app.sidebar.text_input(key="filter_find").set_value("plaque").run()
    app.sidebar.multiselect(key="filter_attention").set_value(["act_secure"]).run()

    assert app.query_params["find"] in ("plaque", ["plaque"])
    assert app.query_params["attention"] in ("act_secure", ["act_secure"])
    assert "Shown:" in said(app)


def test_a_row_is_settled_with_a_name_through_the_store(page, store, put):
    refused = {
        "sha256": ["a" * 64],
        "sheet": ["table"],
        "source_row": [2],
        "cells": ['{"No":"1"}'],
        "outcome": ["refused"],
        "problems": ["[]"],
    }
    put(refused_row=pl.DataFrame(refused))
    rows = refused_rows(store.read())
    told = recording.settle(store, rows, by="Ida", how="entered by hand")
    again = recording.settle(store, rows, by="Udo", how="otherwise")

    assert told == "1 row is marked as dealt with."
    assert "Somebody else" in again
    assert store.read()["refused_row"]["settled_by"][0].startswith("Ida, ")


def test_a_row_read_as_no_enamel_is_taken_anyway_through_the_rules(bring_in, store, write_csv):
    bring_in(
        write_csv(
            "c.csv", "Accession No,Title,Material and technique", "1,Bowl,Painted enamel on copper", "2,Jug,Porcelain"
        )
    )
    rows = refused_rows(store.read())

    told = recording.overrule(store, rows, by="Ida")

    assert told.startswith("1 taken")
    assert set(store.read()["object"]["object_id"]) == {"1", "2"}
    assert "Ida" in store.read()["refused_row"]["settled_by"][0]


def test_while_another_process_writes_the_last_state_stays_with_its_time(
    page, demonstration, monkeypatch, said, answer, unread
):
    app = page()

    def busy(*_):
        raise StoreBusy("x", "another process holds the store", "", "")

    monkeypatch.setattr("collection.store.Store.version", lambda self: ("changed",))
    monkeypatch.setattr("collection.pipeline.assess_store", busy)

    app.run()

    assert "is as read at" in said(app)
    assert "17 objects need attention now" in answer(app)


def test_a_store_that_is_held_before_anything_was_read_is_said_with_what_to_do(page, monkeypatch, said, unread):
    def busy(*_):
        raise StoreBusy("x", "another process holds the store", "", "Wait until it has finished.")

    monkeypatch.setattr("collection.pipeline.assess_store", busy)

    words = said(page())

    assert "another process holds the store. Wait until it has finished." in words
    assert "enamels intake" not in words


def test_the_collection_is_assessed_once_for_each_state(page, monkeypatch, unread):
    calls, real = [], pipeline.assess_store
    monkeypatch.setattr("collection.pipeline.assess_store", lambda *a, **k: calls.append(1) or real(*a, **k))

    app = page()
    app.run()
    app.switch_page("views/condition.py").run()

    assert len(calls) == 1


def test_the_rows_of_the_files_an_object_came_from_can_be_read_as_they_were_written(
    page, bring_in, store, write_csv, said
):
    bring_in(write_csv("c.csv", "Inv. no.,Title,Technique", "A,Box,émail cloisonné"))
    app = page("object", store, object_id="A")
    app.session_state["fold_written"] = True
    app.run()

    assert not app.exception
    assert "c.csv, row 2" in said(app)
    assert "émail cloisonné" in said(app)


def test_a_search_that_finds_nothing_says_so_and_not_that_nothing_needs_attention(to_read, said, answer):
    app = to_read("storeroom", find="zzzz")

    assert "No object found." in answer(app)
    assert "None of the 0 objects" not in said(app)
    assert "No object here needs attention now" not in said(app)
    assert len(app.dataframe) == 0


@pytest.mark.parametrize("number", [None, "9999.1"])
def test_where_no_object_is_shown_its_number_is_asked_for_on_the_page_itself(page, number):
    app = page("object", **({"object_id": number} if number else {}))

    assert [field.key for field in app.main.text_input] == ["object_number"]
    assert "object_number" in [field.key for field in page("object", object_id="1961.1").sidebar.text_input]


def test_a_page_names_museum_and_day_and_says_that_all_is_invented(to_read):
    words = " ".join(h.proto.body for h in to_read().sidebar.get("html"))

    assert "Vellmouth, 30 September 2026. Invented for demonstration" in words


def test_the_page_of_rooms_says_its_first_line_once_and_whose_loss_it_is(to_read, said):
    words = said(to_read("rooms"))

    assert words.count("Mend this: microclimate in Lower Store, room L2") == 1
    assert "by what was checked, most value is lost in Lower Store, room L2, about 0.016 %" in words
    assert "Mend this: microclimate in Lower Store, room L2" in said(to_read("rooms", location_id="L2"))


@pytest.mark.parametrize(
    ("draw", "schema"), [(charts.by_location_chart, where_lost.BY_LOCATION), (charts.needs_chart, air.NEEDS)]
)
def test_a_sign_of_per_cent_stands_apart_on_an_axis_as_in_a_sentence(draw, schema):
    axes = [
        channel["axis"]
        for name, channel in encodings(draw(pl.DataFrame(schema=schema)).to_dict())
        if name == "x" and channel.get("axis")
    ]

    assert [axis["labelExpr"] for axis in axes] == ["replace(datum.label, '%', ' %')"]
