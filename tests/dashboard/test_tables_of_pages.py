"""Tables of the pages: each downloads as shown, headed by what it holds, in words and with figures that can be read."""

import polars as pl
import pytest
from polars.testing import assert_frame_equal

from collection.questions import backlog, condition, not_yet_checked, ranking, where_lost
from dashboard import pages, tables

WITH_TABLES = tuple(its.address for its in pages.PAGES if its.needs_store)  # the other shows none before it has a file


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


def test_kinds_of_records_of_a_delivery_are_named_in_words(to_read):
    kinds = to_read("deliveries").dataframe[-1].value["Of which records"].to_list()

    assert "Condition check" in kinds
    assert not [words for words in kinds if "_" in words]


def test_columns_of_rows_not_taken_are_named_in_words(to_read):
    reasons = to_read("not_taken_in").dataframe[0].value["Why"].to_list()

    assert "Number: the number reads like a path to a file" in "; ".join(reasons)
    assert not [words for words in reasons if "object_id" in words]
