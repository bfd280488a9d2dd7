"""A mapping that a person edits: every line is understood, or refused with a sentence that names it."""

import os
from dataclasses import replace
from datetime import datetime

import polars as pl
import pytest

from collection.intake.files.reader import read_sheets
from collection.intake.mapping.load import load
from collection.intake.mapping.mapping import BROUGHT_IN, ColumnMap
from collection.intake.mapping.suggest import suggest
from collection.intake.mapping.written import as_toml
from collection.validation.cells import typed
from collection.validation.conventions import Conventions, parse_order
from schemas.errors import WrongUsage
from schemas.tables import RECORDS

HEAD = 'record = "object"\n[columns]\n"Number" = "object_id"\n"Tall" = "height_mm"\n'

# text of the mapping, what the sentence says
WRONG = [
    ("nothing at all", "", "record"),
    ("no table", "record = 3\n[columns]\n", "record"),
    ("a list", 'record = ["object"]\n[columns]\n', "record"),
    ("no columns", 'record = "object"\n', "columns"),
    ("a heading mapped to a number", 'record = "object"\n[columns]\n"A" = 3\n', "columns.A"),
    ("a heading mapped to a day", 'record = "object"\n[columns]\n"A" = 2020-01-01\n', "columns.A"),
    ("sheet is a number", "sheet = 3\n", "'sheet' is no table"),
    ("sheet is a list", "sheet = []\n", "'sheet' is no table"),
    ("a sheet that is a word", '[sheet]\nA = "x"\n', "sheet A"),
    ("an unknown record", 'record = "thing"\n[columns]\n', "'thing' is no record"),
    ("the journal", 'record = "journal"\n[columns]\n"seq" = "seq"\n', "'journal' is no record that a file can bring in"),
    ("files read", 'record = "intake_file"\n[columns]\n"a" = "sha256"\n', "'intake_file' is no record"),
    ("deliveries", 'record = "delivery"\n[columns]\n"a" = "delivery_id"\n', "'delivery' is no record"),
    ("refused rows", 'record = "refused_row"\n[columns]\n"a" = "sha256"\n', "'refused_row' is no record"),
    ("no number", 'record = "object"\n[columns]\n"A" = "title"\n', "no heading is mapped to 'object_id'"),
    ("one column twice", HEAD + '"High" = "height_mm"\n', "several headings are mapped to 'height_mm'"),
    ("an unknown column", HEAD + '"C" = "colour"\n', "'colour' is not a column of object"),
    ("an unknown unit", HEAD + '[units]\nheight_mm = "parsec"\n', "'parsec' is no unit of height_mm"),
    ("a unit of another kind", HEAD + '[units]\nheight_mm = "kg"\n', "'kg' is no unit of height_mm"),
    ("a unit of a title", HEAD + '"T" = "title"\n[units]\ntitle = "cm"\n', "'title' has no unit"),
    ("an order that is none", HEAD + '"On" = "condition_remark_on"\n[order]\n"On" = "dd.mm"\n', "no order of day"),
    ("an order with a part twice", HEAD + '"On" = "condition_remark_on"\n[order]\n"On" = "dd.dd.yyyy"\n', "no order"),
    ("an order among the units", HEAD + '"On" = "condition_remark_on"\n[units]\ncondition_remark_on = "d.x.y"\n', "no order"),
    ("an order of a size", HEAD + '[order]\nheight_mm = "dd.mm.yyyy"\n', "'height_mm' holds no dates"),
    ("an unknown entry", HEAD.replace("[columns]", "colour = 1\n[columns]"), "colour"),
    ("an encoding nobody knows", HEAD.replace("[columns]", 'encoding = "klingon"\n[columns]'), "no encoding"),
    ("an encoding that is no text", HEAD.replace("[columns]", 'encoding = "base64"\n[columns]'), "no encoding"),
    ("decimal comma as a word", HEAD.replace("[columns]", 'decimal_comma = "height_mm"\n[columns]'), "decimal_comma"),
    ("unknown as a word", HEAD + '[unknown]\nheight_mm = "0"\n', "unknown.height_mm"),
    ("one value of an unknown column", HEAD + '[same]\ncolour = "red"\n', "'colour' is not a column of object"),
    ("one value where a heading is", HEAD + '[same]\nheight_mm = 4\n', "same: 'height_mm' has a heading of its own, 'Tall'"),
    ("one value that is no term", HEAD + '[same]\ntechnique = "pottery"\n', "same: 'pottery' is no value of technique"),
    ("one value that says nothing", HEAD + '[same]\ntitle = " "\n', "same: ' ' is no value of title"),
    ("one number for all", 'record = "object"\n[columns]\n"T" = "title"\n[same]\nobject_id = "V.1"\n', "same: all rows would be one object"),
    ("a value list of an unknown column", HEAD + '[words.colour]\n"1" = "red"\n', "'colour' is not a column of object"),
    ("a value list without a term", HEAD + '"How" = "technique"\n[words.technique]\n"1" = "pottery"\n', r"words.technique: 'pottery' \(for '1'\)"),
    ("a value list that is a word", HEAD + '[words]\ntechnique = "pottery"\n', "words.technique"),
    ("a tick of no damage", HEAD + '[ticks]\n"L" = "damage:rust on toast"\n', "ticks: 'damage:rust on toast' names no damage"),
    ("a tick of another record", HEAD + '[ticks]\n"L" = "repair:resin"\n', "ticks: 'repair:resin' names no damage"),
    ("a tick that is a column", HEAD + '[ticks]\n"Tall" = "damage:lifting"\n', "'Tall' is mapped to 'height_mm' already"),
    ("ticks of a place", 'record = "location"\n[columns]\n"N" = "location_id"\n[ticks]\n"L" = "damage:lifting"\n', "a location has no damage"),
    ("a line that ends too early", 'record = "object', "cannot be read"),
    ("a key twice", 'record = "object"\nrecord = "part"\n', "cannot be read"),
    ("deep as a well", "a = " + "[" * 100_000, "cannot be read"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "says"), [w[1:] for w in WRONG], ids=[w[0] for w in WRONG])
def test_a_line_that_is_not_understood_is_refused_and_named(text, says, tmp_path):
    (tmp_path / "m.toml").write_text(text, "utf-8")

    with pytest.raises(WrongUsage, match=says) as refused:
        load(tmp_path / "m.toml")

    assert "m.toml" in refused.value.where
    assert refused.value.to_do


# text of a mapping, the line that is wrong in it (counted from 1), and what the sentence says
LINES = [
    (HEAD + '"C" = "colour"\n', 5, "'colour'"),
    (HEAD + '\n# how tall\n[units]\nheight_mm = "parsec"\n', 8, "'parsec'"),
    (HEAD + 'On = "condition_remark_on"\n[order]\nOn = "dd.mm"\n', 7, "'dd.mm'"),
    (HEAD + 'How = "technique"\n[words.technique]\n1 = "cloisonné"\n2 = "pottery"\n', 8, "'pottery'"),
    (HEAD + 'How = "technique"\n[words]\nHow = {1 = "pottery"}\n', 7, "'pottery'"),
    (HEAD + '[same]\ntitle = """\nBox\n"""\ntechnique = "pottery"\n', 9, "'pottery'"),
    (HEAD + 'Wide = [\n"width_mm",\n]\n', 5, "columns.Wide"),
    ('record = "thing"\n[columns]\n', 1, "'thing'"),
    ('[sheet.A]\nrecord = "object"\n[sheet.A.columns]\nN = "object_id"\nC = "colour"\n', 5, "'colour'"),
    ('[sheet."A.b"]\nrecord = "object"\n[sheet."A.b".columns]\nC = "title"\n', 3, "'object_id'"),
    ((HEAD + '[units]\nheight_mm = "parsec"\n').replace("\n", "\r\n"), 6, "'parsec'"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "line", "says"), LINES)
def test_a_refusal_names_the_line_of_the_mapping(text, line, says, tmp_path):
    (tmp_path / "m.toml").write_bytes(text.encode())

    with pytest.raises(WrongUsage, match=says) as refused:
        load(tmp_path / "m.toml")

    assert f"m.toml, line {line}" in refused.value.where


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


def test_what_is_no_readable_file_is_refused_at_once(tmp_path):
    os.mkfifo(tmp_path / "pipe.toml")
    (tmp_path / "latin.toml").write_bytes(b'record = "objet d\xe9cor\xe9"')
    for name in ("pipe.toml", "latin.toml", "none.toml", ""):
        with pytest.raises(WrongUsage):
            load(tmp_path / name)


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


def test_an_encoding_may_be_stated(write_csv, tmp_path, judge):
    (tmp_path / "m.toml").write_text(
        'record = "object"\nencoding = "koi8-r"\n[columns]\n"N" = "object_id"\n"T" = "title"\n', "utf-8"
    )

    judged = judge(write_csv("o.csv", "N,T", "V.1,Ларец", encoding="koi8-r"), mapping=tmp_path / "m.toml")

    assert judged.rows("object")["title"].to_list() == ["Ларец"]
    assert "encoding_guessed" not in judged.answer.problems["rule"].to_list()


def test_a_mapping_none_of_whose_headings_is_in_the_file_is_said(write_csv, tmp_path, answer_to):
    (tmp_path / "m.toml").write_text(HEAD, "utf-8")

    with pytest.raises(WrongUsage, match="none of its headings stands in o.csv"):
        answer_to(write_csv("o.csv", "object_id,title", "V.1,Box"), mapping=tmp_path / "m.toml")


def test_a_suggested_mapping_shows_values_and_nothing_a_terminal_obeys(write_csv):
    sheet = next(read_sheets(write_csv("o.csv", "object_id,Title", "V.1,\x1b[2JBox", "V.2,Jug")))

    text = as_toml({"table": suggest(sheet)}, {"table": {"Title": ["\x1b[2JBox", "Jug"]}})

    assert "[2JBox | Jug" in text
    assert "\x1b" not in text


@pytest.mark.parametrize("heading", ["a.b", 'He said "tall"', "Höhe\ncm", "#", "", "\t", "日本"])
def test_any_heading_can_be_written_and_read_back(heading, tmp_path):
    from collection.intake.mapping.mapping import ColumnMap

    words = {"technique": {heading: "cloisonne"}}
    mapping = ColumnMap("object", {"N": "object_id", heading: "title"}, words=words, same={"culture": "Vellmouth"})
    (tmp_path / "m.toml").write_text(as_toml({"table": mapping, "other": mapping}), "utf-8")

    assert load(tmp_path / "m.toml") == {"table": mapping, "other": mapping}


def test_no_record_of_the_register_itself_can_be_brought_in():
    assert not {"journal", "intake_file", "delivery", "refused_row"} & set(BROUGHT_IN)
    assert "setting" in BROUGHT_IN


def test_the_newest_mapping_of_the_same_headings_is_remembered_and_said(write_csv, tmp_path, bring_in, store):
    for number, (unit, name) in enumerate([("in", "a"), ("cm", "b"), ("in", "c"), ("cm", "d")]):
        (tmp_path / "m.toml").write_text(HEAD + f'[units]\nheight_mm = "{unit}"\n', "utf-8")
        bring_in(write_csv(f"{name}.csv", "Number,Tall", f"V.{number},4"), mapping=tmp_path / "m.toml")

    result = bring_in(write_csv("e.csv", "Number,Tall", "V.9,4"))

    assert store.read()["object"].filter(object_id="V.9")["height_mm"].to_list() == [40.0]
    assert result.mappings_remembered == ("e.csv: read with the mapping of 2026-09-30 for the same headings.",)


def test_a_remembered_mapping_takes_the_decimal_sign_that_the_new_file_proves(write_csv, bring_in, store):
    bring_in(write_csv("a.csv", "object_id;height_mm", "V.1;1.5", "V.2;20.25"))
    bring_in(write_csv("b.csv", "object_id;height_mm", "V.3;1.250", "V.4;980,5"))

    assert store.read()["object"]["height_mm"].to_list() == [1.5, 20.25, 1250.0, 980.5]


def test_two_headings_of_one_meaning_are_said(write_csv, judge):
    result = judge(write_csv("o.csv", "Accession No,Inventory No,Title", "V.1,77,Box")).answer

    noted = result.problems.filter(pl.col("rule") == "same_meaning").select("column", "value", "level").rows()
    assert noted == [("object_id", "Inventory No", "note")]
    assert result.unread.headings == {"o.csv": ["Inventory No"]}


COMMENTED = """# agreed with R. Alder, 2026
record = "object"

[columns]  # as in the card index
"Number" = "object_id"
"Tall" = "height_mm"  # measured with the foot
"Fund" = ""

[units]
"Tall" = "cm"  # since 1990
"""


def test_a_mapping_that_is_remembered_is_written_again_as_a_person_wrote_it(write_csv, tmp_path, bring_in, enamels):
    (tmp_path / "m.toml").write_text(COMMENTED, "utf-8")
    bring_in(write_csv("a.csv", "Number,Tall,Fund", "V.1,4,x"), mapping=tmp_path / "m.toml")

    write_csv("b.csv", "Number,Tall,Fund", "V.2,4,x")

    assert enamels("intake", "b.csv")[1] == COMMENTED


def test_what_differs_is_changed_and_its_comment_stays(tmp_path):
    (tmp_path / "m.toml").write_text(COMMENTED, "utf-8")
    mapping = load(tmp_path / "m.toml")[""]
    mapping = replace(
        mapping, columns={**mapping.columns, "Fund": "keep"}, units={"height_mm": "mm"}, same={"title": "?"}
    )

    text = as_toml({"": mapping})

    (tmp_path / "n.toml").write_text(text, "utf-8")
    assert load(tmp_path / "n.toml") == {"": mapping}
    for line in (
        "# agreed with R. Alder, 2026",
        '"Tall" = "mm" # since 1990',
        '"Fund" = "keep"',
        '"Tall" = "height_mm"  # measured',
    ):
        assert line in text


def test_sheets_of_one_file_are_written_again_together(tmp_path):
    text = '[sheet.A]\nrecord = "object"  # ours\ncolumns = {N = "object_id"}\n[sheet.B]\nrecord = "part"\ncolumns = {N = "object_id", P = "part"}\n'
    (tmp_path / "m.toml").write_text(text, "utf-8")

    assert as_toml(load(tmp_path / "m.toml")) == text
    assert "# ours" not in as_toml({**load(tmp_path / "m.toml"), "C": ColumnMap("object", {"N": "object_id"})})
