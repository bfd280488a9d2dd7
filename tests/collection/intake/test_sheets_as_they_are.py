"""Sheets named after places, two tables in one sheet, and catalogues without a word on the material."""

import polars as pl
import pytest
import xlsxwriter

from collection.intake.about_sheets import names_of_places
from collection.intake.files import delimited

HEADINGS = ["Inv. no.", "Title", "Material", "Height cm"]
BOWL, TRAY, CUP = "Painted enamel on copper", "Cloisonné enamel on brass", "Champlevé enamel on copper"
CHECKS = ["Inventory number", "Date", "Examiner", "Remarks"]


def asked(done, rule):
    return done.problems.filter(rule=rule).select("sheet", "source_row", "value").rows()


@pytest.mark.parametrize(
    ("sheets", "known", "places"),
    [
        (["Sheet1", "Sheet2"], [], []),
        (["Tabelle 1", "Feuil2", "Blad 3"], [], []),
        (["Enamels"], [], []),
        (["Room 3"], [], ["Room 3"]),
        (["Vitrine 12"], [], ["Vitrine 12"]),
        (["Saal 4, Ost"], [], ["Saal 4, Ost"]),
        (["Lower Store"], ["Lower Store", None], ["Lower Store"]),
        (["lower  store"], ["Lower Store"], ["lower  store"]),
        (["North", "South", "Sheet3"], [], ["North", "South"]),
        (["Enamels", "Enamels, row 12"], [], []),
        (["Baroque"], ["bar"], []),
    ],
)
def test_names_that_may_be_those_of_places(sheets, known, places):
    assert names_of_places(sheets, pl.Series(known, dtype=pl.String)) == places


def test_a_sheet_named_as_a_place_is_asked_about_and_nothing_is_guessed(store, bring_in, write_xlsx):
    done = bring_in(write_xlsx("rooms.xlsx", **{"Room 1": [HEADINGS, ["B.1", "Bowl", BOWL, 4]],
                                                "Room 2": [HEADINGS, ["B.2", "Tray", TRAY, 5]]}))  # fmt: skip

    assert asked(done, "sheet_named_as_place") == [("Room 1", 1, "Room 1"), ("Room 2", 1, "Room 2")]
    held = store.read()
    assert held["object"]["location_id"].null_count() == 2
    assert held["location"].is_empty()


def test_the_answer_gives_every_row_of_the_sheet_its_place(judge, write_xlsx, tmp_path):
    columns = '"Inv. no." = "object_id"\nMaterial = "materials_text"\n'
    sheets = "".join(
        f'[sheet."{n}"]\nrecord = "object"\n[sheet."{n}".columns]\n{columns}[sheet."{n}".same]\nlocation_text = "{n}"\n'
        for n in ("Room 1", "Room 2")
    )
    (tmp_path / "m.toml").write_text(sheets, "utf-8")
    rooms = {"Room 1": [HEADINGS, ["B.1", "Bowl", BOWL, 4]], "Room 2": [HEADINGS, ["B.2", "Tray", TRAY, 5]]}

    judged = judge(write_xlsx("rooms.xlsx", **rooms), mapping=tmp_path / "m.toml")

    assert asked(judged.answer, "sheet_named_as_place") == []
    assert judged.rows("object").sort("object_id")["location_id"].to_list() == ["Room 1", "Room 2"]


def test_a_heading_for_the_place_leaves_nothing_to_ask(answer_to, write_xlsx):
    rows = [[*HEADINGS, "Location"], ["B.1", "Bowl", BOWL, 4, "Upper Store"]]

    assert asked(answer_to(write_xlsx("rooms.xlsx", **{"Room 1": rows})), "sheet_named_as_place") == []


def test_a_second_table_of_a_workbook_is_read_by_its_own_headings(judge, write_xlsx):
    rows = [
        HEADINGS, ["B.1", "Bowl", BOWL, 4], ["B.2", "Tray", TRAY, 5], [None],
        ["Title", "Inv. no.", "Height mm", "Material"], ["Cup", "B.3", 60, CUP],
    ]  # fmt: skip
    judged = judge(write_xlsx("two.xlsx", Sheet1=rows))

    objects = judged.rows("object").sort("object_id")
    assert objects.select("object_id", "title", "height_mm").rows() == [
        ("B.1", "Bowl", 40.0), ("B.2", "Tray", 50.0), ("B.3", "Cup", 60.0),
    ]  # fmt: skip
    assert asked(judged.answer, "second_table_read") == [("Sheet1, row 5", 1, None)]
    assert judged.answer.files.select("rows", "new", "refused").row(0) == (3, 3, 0)


def test_a_second_table_of_a_text_file_is_read_by_its_own_headings(judge, write_csv):
    judged = judge(write_csv("two.csv", ",".join(HEADINGS), f"B.1,Bowl,{BOWL},4", "Material,Title,Height cm,Inv. no.",
                       f"{CUP},Cup,6,B.3"))  # fmt: skip

    objects = judged.rows("object").sort("object_id")
    assert objects.select("object_id", "title", "height_mm").rows() == [("B.1", "Bowl", 40.0), ("B.3", "Cup", 60.0)]
    assert set(objects["source_row"]) == {2, 4}


def test_a_list_of_checks_below_a_catalogue_is_no_part_of_it(judge, write_xlsx):
    checks = [CHECKS, ["B.1", "2024-03-14", "Ida", "enamel lifting"]]
    path = write_xlsx("two.xlsx", Sheet1=[HEADINGS, ["B.1", "Bowl", BOWL, 4], [None], *checks])
    judged = judge(path)

    held = judged.rows("object")
    assert held["object_id"].to_list() == ["B.1"]
    assert held["earliest_year"].to_list() == [None]
    assert judged.answer.files.select("rows", "new").row(0)[0] == 2


def test_the_headings_once_more_are_a_line_between(judge, write_xlsx):
    rows = [HEADINGS, ["B.1", "Bowl", BOWL, 4], HEADINGS, ["B.2", "Tray", TRAY, 5]]
    judged = judge(write_xlsx("again.xlsx", Sheet1=rows))

    assert judged.answer.files.select("new", "between").row(0) == (2, 1)


@pytest.mark.parametrize("row", ["Title,Material,,", "Cup,Medium,Champlevé enamel,6", "Material,,,", "B.3,Date,Type,4"])
def test_values_spelt_like_a_heading_begin_no_table(row, judge, write_csv):
    judged = judge(write_csv("o.csv", "Title,Material,Kind,Inv. no.", f"Bowl,{BOWL},a,B.1", row, f"Tray,{TRAY},a,B.2"))

    assert {"B.1", "B.2"} <= set(judged.rows("object")["object_id"])
    assert not {"second_table", "second_table_read"} & set(judged.answer.problems["rule"])


def test_a_second_table_far_down_in_a_long_file_is_refused_with_its_line(store, bring_in, write_csv, monkeypatch):
    monkeypatch.setattr(delimited, "BATCH_ROWS", 4)
    lines = [f"B.{n},Bowl,{BOWL},4" for n in range(1, 8)]
    done = bring_in(write_csv("long.csv", ",".join(HEADINGS), *lines, "Material,Title,Height cm,Inv. no.",
                              f"{CUP},Cup,6,C.1", *[f"{CUP},Cup,6,C.{n}" for n in range(2, 8)]))  # fmt: skip

    assert store.read()["object"].height == 7
    assert done.files.select("new", "refused").row(0) == (7, 8)
    assert set(asked(done, "second_table")) == {("table", row, "row 9") for row in range(9, 17)}


def test_nobody_judges_where_no_heading_says_the_material_and_that_is_said(bring_in, write_csv):
    done = bring_in(write_csv("o.csv", "Inv. no.,Title,Description", "B.1,Bowl,A bowl of two colours", "B.2,Tray,"))
    again = bring_in(write_csv("p.csv", "Inv. no.,Title,Description", "B.1,Bowl,A bowl of three colours"))

    assert len(done.not_judged) == 1
    assert "2 new objects" in done.not_judged[0]
    assert again.not_judged == (), "objects that are held were judged before"


@pytest.mark.parametrize(
    ("cell", "height_mm"),
    [
        ("5 1/2 in", 139.7),
        ("5½ in", 139.7),
        ("15/16 in", 23.8125),
        ("5.5 in", 139.7),
        ("3/2 in", None),
        ("1/2/3 in", None),
    ],
)
def test_fractions_of_an_inch(cell, height_mm, judge, write_csv):
    """One inch is 25.4 mm (international yard and pound agreement, 1959)."""
    judged = judge(write_csv("c.csv", "object_id;title;Height", f"A;Box;{cell}", "B;Cup;10 mm"))

    assert judged.rows("object")["height_mm"].to_list() == pytest.approx([height_mm, 10.0])


def test_a_share_of_pieces_is_no_size_and_no_count(judge, write_csv):
    judged = judge(write_csv("c.csv", "object_id,title,count_of_items", "A,Box,3/4"))

    assert judged.rows("object")["count_of_items"].to_list() == [None]


@pytest.fixture
def coloured(tmp_path):
    """A workbook whose grades are colours; its second row is wholly of another colour, which says nothing."""
    path = tmp_path / "colours.xlsx"
    with xlsxwriter.Workbook(path) as book:
        red, band = (book.add_format({"bg_color": colour}) for colour in ("#e06666", "#eeeeee"))
        sheet = book.add_worksheet("List")
        sheet.write_row(0, 0, ["object_id", "title", "period_text"])
        sheet.write_row(1, 0, ["A", "Box"])
        sheet.write_blank(1, 2, None, red)
        sheet.write_row(2, 0, ["B", "Dish"], band)
        sheet.write_blank(2, 2, None, band)
        sheet.write_row(3, 0, ["C", "Cup", "Meiji"], red)
    return path


def test_a_cell_that_holds_nothing_but_a_colour_is_said(coloured, bring_in, store):
    problems = bring_in(coloured).problems.filter(rule="colour_only")

    assert problems.select("source_row", "column", "level").rows() == [(2, "period_text", "ask")]
    assert store.read()["object"]["period_text"].to_list() == [None, None, "Meiji"]


@pytest.mark.parametrize(
    "lines",
    [("object_id", "V.1", "V.2"), ("object_id,height_mm", "V.1,12", "V.2,"), ("object_id,location_id", "V.1,", "V.2,")],
)
def test_a_sheet_of_numbers_only_is_read_too(lines, write_csv, judge):
    judged = judge(write_csv("n.csv", *lines))

    assert judged.rows("object")["object_id"].to_list() == ["V.1", "V.2"]
