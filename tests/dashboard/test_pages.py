"""Every page runs on the full, an empty and a missing store, says what it covers, and keeps what it was asked."""

import polars as pl
import pytest
from polars.testing import assert_frame_equal

from collection import pipeline
from collection.questions import air, backlog, condition, not_yet_checked, ranking, where_lost
from collection.questions.refused_rows import refused_rows
from collection.questions.selection import Selection, select
from collection.recording import refused_rows as recording
from dashboard import charts, pages, tables
from schemas.errors import StoreBusy
from tests.dashboard.test_charts import encodings

PAGES = tuple(its.address for its in pages.PAGES)
OF_FILES = tuple(its.address for its in pages.PAGES if not its.about_objects)
WITH_TABLES = tuple(its.address for its in pages.PAGES if its.needs_store)  # the other shows none before it has a file
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


@pytest.mark.parametrize("name", WITH_TABLES)
def test_every_table_downloads_exactly_as_shown(page, name, monkeypatch):
    taken, real = [], tables.csv
    monkeypatch.setattr("dashboard.tables.csv", lambda frame: taken.append((frame, real(frame))) or taken[-1][1])

    app = page(name, unfolded=True, **({"object_id": "1961.1"} if name == "object" else {"location_id": "L2"}))

    assert len(app.dataframe) == len(taken) > 0
    drawn = sorted((list(t.value.columns), len(t.value)) for t in app.dataframe)
    assert drawn == sorted((frame.columns, frame.height) for frame, _ in taken)
    for frame, data in taken:
        read = pl.read_csv(data, infer_schema=False)
        texts = [n for n, t in frame.schema.items() if t == pl.String]
        unguarded = read.with_columns(pl.col(n).str.replace("^'(.*)", "$1") for n in texts)
        assert_frame_equal(unguarded.select(texts), frame.select(texts))


def test_a_column_of_names_says_what_they_name(found):
    rows = found.objects

    assert tables.shown(condition.grades(found, rows)).columns[0] == "Grade"
    assert tables.shown(condition.damage(found, rows)).columns[0] == "Damage"
    assert "Attention" in tables.shown(ranking.ranking(found, rows)).columns


def test_what_each_cause_takes_is_in_one_unit_and_adds_up(found):
    places = where_lost.by_location(found, found.objects, "")
    causes = ("repairs", "damage", "journeys", "climate")

    shown = tables.shown(places, **{n: n for n in causes})

    assert shown["damage"].to_list() == (places["damage"] * 100).round_sig_figs(2).to_list()
    assert all(tables.heading(n).endswith("[% of the collection's value a year]") for n in causes)


def test_kinds_are_named_in_the_figures_where_no_label_stands_for_them(found):
    rows = not_yet_checked.by_kind(not_yet_checked.expected(found, found.objects))

    assert tables.shown(rows)["Kind"].to_list() == rows["kind"].to_list()
    assert "Kind" not in tables.shown(condition.damage(found, found.objects)).columns


def test_kinds_add_up_to_what_the_sentence_expects_and_the_storerooms_own_count_is_told(found, to_read, said):
    its = not_yet_checked.expected(found, found.objects)
    rows = not_yet_checked.by_kind(its)
    words = said(to_read("not_yet_checked"))

    assert its.interval is not None
    assert rows["expected_objects"].sum() == pytest.approx(its.interval.objects_above)
    assert rows["expected_objects"].is_sorted(descending=True)
    assert f"expect about {round(rows['expected_objects'].sum())} above the limit here" in words
    assert "1 of them needs attention now by what is known without a check" in words


def test_hours_by_class_stand_in_the_order_of_the_list(found):
    assert backlog.backlog(found, found.objects)["attention"].to_list() == found.by_class["attention"].to_list()


def test_shares_are_read_in_per_cent_with_two_figures_and_nearly_all_is_not_all():
    rows = pl.DataFrame({"contribution": [0.98344, 0.0116, 0.99971, 1.0, None]})

    shown = tables.shown(rows)

    assert shown["Share of the loss [%]"].to_list() == [98, 1.2, 99.9, 100, None]


def test_a_column_with_thousands_has_no_thousandths():
    rows = pl.DataFrame({"used": [3699.392, 127.248, 9.566, 0.0], "margin": [0.9812, 0.2, 0.1, 0.0]})

    shown = tables.shown(rows)

    assert shown["Used"].to_list() == [3699, 127, 9.57, 0]
    assert shown["Margin"].to_list() == rows["margin"].to_list()


def test_widths_are_of_the_columns_a_table_has():
    """`name` stands under Place as `place` does, and is as wide as its words."""
    assert tables.widths(pl.DataFrame({"name": ["Lower Store, room L2"]})) == {}
    assert tables.widths(pl.DataFrame({"place": [""], "heed": [""]}), heed="Mind") == {"Place": 104, "Mind": 130}


HEADINGS_OF = {  # page: what it is asked, what stands above its columns, what does not
    "over_time": ({}, {"Grade", "Graded in both, then"}, {"Attention"}),
    "object": ({"object_id": "1968.1"}, {"Why it was not seen", "Measured", "Checked on"}, {"Size unit", "Attention"}),
    "rooms": ({"location_id": "L2"}, {"Low [%]", "Middle [%]", "High [°C]"}, {"At least [h]", "Quantity"}),
    "plan": ({}, {"Year, and what"}, {"Share in which it happened [1]", "No."}),
    "surveys": ({}, {"Objects checked"}, {"Looked at"}),
}


@pytest.mark.parametrize("name", HEADINGS_OF)
def test_columns_are_headed_by_what_they_hold(page, name):
    asked, there, not_there = HEADINGS_OF[name]

    headed = {heading for table in page(name, unfolded=True, **asked).dataframe for heading in table.value.columns}

    assert there <= headed
    assert not not_there & headed


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


def test_kinds_of_records_of_a_delivery_are_named_in_words(to_read):
    kinds = to_read("deliveries").dataframe[-1].value["Of which records"].to_list()

    assert "Condition check" in kinds
    assert not [words for words in kinds if "_" in words]


def test_columns_of_rows_not_taken_are_named_in_words(to_read):
    reasons = to_read("not_taken_in").dataframe[0].value["Why"].to_list()

    assert "Number: the number reads like a path to a file" in "; ".join(reasons)
    assert not [words for words in reasons if "object_id" in words]
