"""Mappings: suggested from headings in five languages, written as TOML, read back, wrong ones refused with the place."""

import pytest

from collection.intake.files.reader import read_sheets
from collection.intake.mapping.headings import take_apart
from collection.intake.mapping.load import load
from collection.intake.mapping.suggest import lacks_a_number, suggest
from collection.intake.mapping.written import as_toml
from collection.intake.opening import NoNumberHeaded, open_files
from collection.snapshot import Collection
from schemas.errors import WrongUsage

# Headings as museums write them (common practice, no source), and the column each one means.
HEADINGS = [
    ("Accession Number", "object_id"), ("Acc. No.", "object_id"), ("ObjectNumber", "object_id"), ("Inventarnummer", "object_id"),
    ("N° d'inventaire", "object_id"), ("Inventarisnummer", "object_id"), ("Inventarienummer", "object_id"),
    ("Material/Technik", "materials_text"), ("Matières et techniques", "materials_text"), ("Materiaal en techniek", "materials_text"),
    ("Medium", "materials_text"), ("Material och teknik", "materials_text"), ("Datierung", "date_text"), ("Datation", "date_text"),
    ("Datering", "date_text"), ("Höhe (cm)", "height_mm"), ("Hauteur en cm", "height_mm"), ("height_mm", "height_mm"),
    ("Erhaltungszustand", "condition_remark"), ("État de conservation", "condition_remark"), ("Skick", "condition_remark"),
    ("Standort", "location_text"), ("Emplacement", "location_text"), ("Afmetingen", "dimensions_text"), ("Mått", "dimensions_text"),
]  # fmt: skip


@pytest.mark.parametrize(("heading", "column"), HEADINGS, ids=[h for h, _ in HEADINGS])
def test_headings_are_recognised(heading, column, write_csv):
    lines = [heading, "x 1"] if column == "object_id" else [f"object_id\t{heading}", "V.1\tx"]

    mapping = suggest(next(read_sheets(write_csv("h.tsv", *lines))))

    assert mapping.columns[heading] == column


# heading, unit beside it
UNITS = [
    ("Height (cm)", "cm"),
    ("height_mm", "mm"),
    ("Breite in mm", "mm"),
    ("Diameter [in]", "in"),
    ("Item height", ""),
    ("Poids (g)", "g"),
]


@pytest.mark.parametrize(("heading", "unit"), UNITS)
def test_the_unit_beside_a_heading_is_read(heading, unit):
    assert take_apart(heading).unit == unit


def test_the_record_whose_own_columns_the_headings_are_is_suggested(write_csv):
    path = write_csv("o.csv", "check_id,damage_id,activity,area_mm2", "C.1,D.1,active,12")

    assert suggest(next(read_sheets(path))).record == "observation"


OF_OBJECTS, OF_LINES = ("VH 12/3", "1957.1", "OB 4"), ("7", "8", "9")


@pytest.mark.parametrize("heading", ["Number", "No.", "Nr.", "N°", "Nummer", "Numéro"])
def test_a_bare_number_is_that_of_the_object_where_its_cells_cannot_count_lines(heading, write_csv):
    def taken_for(numbers, *others):
        rows = [",".join([number, *["x"] * len(others)]) for number in numbers]
        return suggest(next(read_sheets(write_csv("n.csv", ",".join([heading, *others]), *rows))))

    assert taken_for(OF_OBJECTS, "Title", "Technique").columns[heading] == "object_id"
    assert taken_for(OF_LINES, "Title", "Technique") is None  # a count of lines
    assert taken_for(("2.", "1.", "3."), "Title", "Technique") is None  # the same, sorted by another column
    assert taken_for(("VH 1", "VH 1", "VH 2"), "Title", "Technique") is None  # a box, or a lot
    assert taken_for(("VH 1", "", "VH 2"), "Title", "Technique") is None
    assert taken_for(OF_OBJECTS, "Title") is None  # a list of books would have that too
    assert taken_for(OF_OBJECTS, "Title", "Technique", "Inv. No.").columns[heading] == ""


def test_a_catalogue_whose_number_is_not_headed_is_not_taken_for_its_places(write_csv):
    lines = ("Nr.;Bezeichnung;Standort;Technik", "1;Dose;Depot 1;Maleremail", "2;Schale;Depot 2;Zellenschmelz")
    path = write_csv("n.csv", *lines)

    assert suggest(next(read_sheets(path))) is None
    with pytest.raises(NoNumberHeaded, match="the other headings are those of a catalogue") as refused:
        open_files([path], Collection.of({}), None, {})
    ((_, draft),) = refused.value.drafts
    assert draft.record == "object"
    assert draft.columns == {
        "Nr.": "", "Bezeichnung": "title", "Standort": "location_text", "Technik": "materials_text"
    }  # fmt: skip


def test_a_list_of_something_else_that_repeats_title_and_technique_is_not_called_a_catalogue(write_csv):
    observed = write_csv("o.csv", "Check,Damage,Area [mm2],Length [mm],Title,Technique", "C1,D1,4,2,Box,Painted")
    headings = "Check no,Object,Title,Technique,Date,Checked by,Condition"
    checked = write_csv("k.csv", headings, "C1,EM 1,Box,Painted,2020-04-03,Ida,good")

    assert suggest(next(read_sheets(observed))).record == "observation"
    assert not lacks_a_number(next(read_sheets(checked)))


def test_a_catalogue_with_its_own_museum_number_prefers_it_to_a_database_number(write_csv):
    path = write_csv("w.csv", "ObjectID,ObjectNumber,Title", "76,57.1924,Bowl")

    assert suggest(next(read_sheets(path))).columns == {"ObjectID": "", "ObjectNumber": "object_id", "Title": "title"}


def test_a_title_row_above_and_merged_headings_are_seen_through(write_xlsx):
    rows = [
        ["Storeroom list"],
        [None],
        ["Acc. No.", "Dimensions (in)", None, "Material"],
        [None, "Height", "Width", None],
        ["V.1", 4, 2, "enamel on copper"],
    ]

    (sheet,) = read_sheets(write_xlsx("m.xlsx", s=rows))

    assert sheet.headings == ["Acc. No.", "Height (in)", "Width (in)", "Material"]
    assert sheet.cells["source_row"].to_list() == [5]


def test_a_decimal_comma_and_the_order_of_dates_are_suggested(write_csv):
    path = write_csv("d.csv", "check_id;object_id;checked_on;look;minutes", "C.1;V.1;14/11/2023;sweep;2,5")

    mapping = suggest(next(read_sheets(path)))

    assert mapping.decimal_comma == ("minutes",)
    assert mapping.orders == {"checked_on": "dd/mm/yyyy"}


def test_a_year_0_beside_a_date_in_words_is_suggested_as_unknown(write_csv):
    path = write_csv("y.csv", "object_id,DateText,DateBeginYear", "V.1,n.d.,0", "V.2,1800,1800")

    assert suggest(next(read_sheets(path))).unknown == {"earliest_year": ("0",)}


def test_cells_that_hold_records_of_their_own_are_left_out(write_csv):
    path = write_csv("j.csv", "object_id\tLocation", 'V.1\t{"room": 4}')

    assert suggest(next(read_sheets(path))).columns["Location"] == ""


def test_a_mapping_written_is_read_back_the_same(write_csv, tmp_path):
    mapping = suggest(next(read_sheets(write_csv("a.csv", 'object_id,"Height ""tall"" (in)",x', "V.1,4,1"))))
    (tmp_path / "m.toml").write_text(as_toml({"table": mapping}), "utf-8")

    assert load(tmp_path / "m.toml") == {"": mapping}


WRONG = [
    ('record = "thing"\n[columns]\n', "'thing' is no record that a file can bring in"),
    ('record = "object"\n[columns]\n"A" = "colour"\n', "'colour' is not a column of object"),
    ("record = ", "cannot be read"),
    ('record = "object"\n', "columns"),
    ('record = "object"\ncolour = 1\n[columns]\n', "colour"),
]


@pytest.mark.parametrize(("text", "says"), WRONG)
def test_a_wrong_mapping_is_refused_with_the_place(text, says, tmp_path):
    (tmp_path / "m.toml").write_text(text, "utf-8")

    with pytest.raises(WrongUsage, match=says):
        load(tmp_path / "m.toml")
