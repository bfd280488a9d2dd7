"""A mapping is suggested with values, remembered for the same headings, and written again as a person wrote it."""

from dataclasses import replace

import polars as pl
import pytest

from collection.intake.files.reader import read_sheets
from collection.intake.mapping.load import load
from collection.intake.mapping.mapping import ColumnMap
from collection.intake.mapping.suggest import suggest
from collection.intake.mapping.written import as_toml
from tests.collection.intake.small_mapping import HEAD


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


def test_a_saved_mapping_is_remembered_for_files_of_the_same_headings(tmp_path, bring_in, store):
    sizes = tmp_path / "s.csv"
    sizes.write_text("Number,Name of piece,Tall\nV.1,Plaque,4\n", "utf-8")
    mapping = tmp_path / "m.toml"
    mapping.write_text(
        'record = "object"\n[columns]\n"Number" = "object_id"\n"Name of piece" = "title"\n"Tall" = "height_mm"\n[units]\nheight_mm = "in"\n',
        "utf-8",
    )
    bring_in(sizes, mapping=mapping)
    again = tmp_path / "t.csv"
    again.write_text("Number,Name of piece,Tall\nV.2,Bowl,2\n", "utf-8")

    bring_in(again)

    assert store.read()["object"]["height_mm"].to_list() == pytest.approx([101.6, 50.8])
