"""What a mapping says of cells: a value list, one value for all rows, a unit, an order of day, month and year."""

from datetime import datetime

import polars as pl
import pytest

from collection.validation.cells import typed
from collection.validation.conventions import Conventions, parse_order
from schemas.tables import RECORDS
from tests.collection.intake.small_mapping import HEAD

CHECKS = """record = "condition_check"
[columns]
"Inv." = "object_id"
"Day" = "checked_on"
"State" = "grade"
[order]
"Day" = "dd.mm.yyyy"
[words.grade]
1 = "good"
" b " = "Fair"
[same]
examiner = "R. Alder"
"""


@pytest.fixture
def checks_by_number(write_csv, tmp_path, bring_in):
    """Three checks whose grade is a number or a letter of the house, read with a mapping."""
    (tmp_path / "m.toml").write_text(CHECKS, "utf-8")
    bring_in(write_csv("o.csv", "object_id,title", "V.1,Box", "V.2,Jug", "V.3,Cup"))
    rows = ("V.1;03.04.2021;1", "V.2;03.04.2021;B", "V.3;03.04.2021;7")
    return bring_in(write_csv("c.csv", "Inv.;Day;State", *rows), mapping=tmp_path / "m.toml")


def test_a_value_list_and_one_value_for_all_rows_are_read(checks_by_number, store):
    held = store.read()["condition_check"].sort("object_id")

    assert held.select("object_id", "grade", "examiner").rows() == [
        ("V.1", "good", "R. Alder"),
        ("V.2", "fair", "R. Alder"),
        ("V.3", None, "R. Alder"),
    ]


def test_a_value_that_the_list_does_not_name_stays_unread_and_is_said(checks_by_number):
    assert checks_by_number.unread.cells.select("column", "rule", "cells", "examples").rows() == [
        ("grade", "unknown_term", 1, ["7"])
    ]


def test_value_lists_and_one_value_for_all_rows_are_remembered(checks_by_number, write_csv, bring_in, store):
    bring_in(write_csv("later.csv", "Inv.;Day;State", "V.3;04.04.2022;b"))

    later = store.read()["condition_check"].filter(pl.col("checked_on").cast(pl.String).str.starts_with("2022"))
    assert later.select("object_id", "grade", "examiner").rows() == [("V.3", "fair", "R. Alder")]


def test_one_value_may_fill_what_a_row_cannot_do_without_and_what_is_read_as_prose(
    write_csv, tmp_path, bring_in, store
):
    (tmp_path / "m.toml").write_text(
        'record = "object"\n[columns]\n"N" = "object_id"\n[same]\nmaterials_text = "cloisonné enamel on copper"\n',
        "utf-8",
    )
    (tmp_path / "c.toml").write_text(
        'record = "condition_check"\n[columns]\n"N" = "object_id"\n[same]\nchecked_on = 2021-04-03\n', "utf-8"
    )

    bring_in(write_csv("o.csv", "N", "V.1", "V.2"), mapping=tmp_path / "m.toml")
    bring_in(write_csv("c.csv", "N", "V.1", "V.2"), mapping=tmp_path / "c.toml")

    held = store.read()
    assert held["object"]["technique"].to_list() == [["cloisonne"], ["cloisonne"]]
    assert held["condition_check"]["checked_on"].cast(pl.String).to_list() == ["2021-04-03", "2021-04-03"]


def test_a_value_list_of_a_column_of_several_is_read_part_by_part(write_csv, tmp_path, judge):
    (tmp_path / "m.toml").write_text(
        HEAD.replace('"Tall" = "height_mm"', '"How" = "technique"') + '[words.How]\nC = "cloisonne"\nP = "champleve"\n',
        "utf-8",
    )

    judged = judge(write_csv("o.csv", "Number,How", "V.1,c; P"), mapping=tmp_path / "m.toml")

    assert judged.rows("object")["technique"].to_list() == [["cloisonne", "champleve"]]


# A unit as a person may write it; 4 of it in mm (1 inch is 25.4 mm exactly, NIST SP 811, B.9)
UNITS = [
    ("CM", 40.0),
    (" cm ", 40.0),
    ("Centimetre", 40.0),
    ("in.", 101.6),
    ("Zoll", 101.6),
    ("MM", 4.0),
    ("Zentimeter", 40.0),
    ("centimètres", 40.0),
    ("centímetros", 40.0),
    ("centimetri", 40.0),
    ("pollici", 101.6),
]


@pytest.mark.parametrize(("unit", "expected"), UNITS)
def test_a_unit_may_be_written_in_any_case_and_with_spaces(unit, expected, write_csv, tmp_path, judge):
    (tmp_path / "m.toml").write_text(HEAD + f'[units]\nheight_mm = "{unit}"\n', "utf-8")

    judged = judge(write_csv("o.csv", "Number,Tall", "V.1,4"), mapping=tmp_path / "m.toml")

    assert judged.rows("object")["height_mm"].to_list() == pytest.approx([expected])


# order as a person may write it, and 3 April 2021 in it
ORDERS = [
    ("dd.mm.yyyy", "03.04.2021"),
    ("d.m.yyyy", "3.4.2021"),
    ("TT.MM.JJJJ", "3.4.2021"),
    ("jj/mm/aaaa", "03/04/2021"),
    ("mm/dd/yyyy", "4/3/2021"),
    ("yyyy-mm-dd", "2021-4-3"),
    ("yyyy mm dd", "2021 4 3"),
    ("Tag.Monat.Jahr", "3.4.2021"),
    ("JOUR/MOIS/ANNÉE", "03/04/2021"),
    ("dag-månad-år", "3-4-2021"),
    ("dd.mm.yy", "3.4.21"),
    ("TT.MM.JJ", "03.04.21"),
    ("jj/mm/aa", "03/04/21"),
    ("yy-mm-dd", "21-04-03"),
    ("dd/mm/yyyy hh:mm", "03/04/2021 9:05"),
    ("dd/mm/yyyy hh:mm", "03/04/2021"),
    ("mm/dd/yy HH:MM:SS", "4/3/21 09:05:10"),
]


@pytest.mark.parametrize(("order", "written"), ORDERS)
def test_an_order_of_dates_may_be_written_as_in_any_language(order, written, write_csv, tmp_path, judge):
    (tmp_path / "m.toml").write_text(
        f'record = "object"\n[columns]\n"N" = "object_id"\n"R" = "condition_remark"\n"On" = "condition_remark_on"\n[order]\n"On" = "{order}"\n',
        "utf-8",
    )

    judged = judge(write_csv("o.csv", "N;R;On", f"V.1;chipped;{written}"), mapping=tmp_path / "m.toml")

    assert judged.rows("object")["condition_remark_on"].to_list() == ["2021-04-03"]


@pytest.mark.parametrize(("short", "year"), [("69", "1969"), ("99", "1999"), ("00", "2000"), ("68", "2068")])
def test_a_year_of_two_digits_is_read_as_posix_reads_it(short, year):
    """POSIX.1-2017, strptime, %y."""
    conventions = Conventions(orders={"judged_on": parse_order("dd.mm.yy")})
    read = typed(pl.DataFrame({"row": [1], "judged_on": [f"1.2.{short}"]}), RECORDS["significance"], conventions)

    assert str(read.rows["judged_on"][0]) == f"{year}-02-01"


def test_a_time_behind_a_day_stays_in_a_column_of_moments():
    conventions = Conventions(orders={"stated_on": parse_order("dd/mm/yyyy hh:mm")})
    cells = pl.DataFrame({"row": [1, 2], "stated_on": ["03/04/2021 9:05", "03/04/2021 14:30:10"]})

    read = typed(cells, RECORDS["loan_state"], conventions)

    assert read.rows["stated_on"].to_list() == [datetime(2021, 4, 3, 9, 5), datetime(2021, 4, 3, 14, 30, 10)]


@pytest.mark.parametrize(
    "written", ["", "dd", "dd.mm.yyyy.hh", "dd.mm-yyyy", "jj.mm.jj", "dd.mm.yyyy hh", "day.month.year.x", "mm.mm.yyyy"]
)
def test_what_is_no_order_is_said(written):
    with pytest.raises(ValueError, match="no order"):
        parse_order(written)
