"""What a cell becomes: read, read with a question, or left empty and said; a catalogue is told from a list of checks."""

import polars as pl
import pytest

from collection.intake import pipeline
from collection.intake.files.reader import read_sheets
from collection.intake.mapping.suggest import suggest
from collection.store import Store

# Lists of checks as people keep them (invented); each has full days beside a person, a grade, a finding or an action.
CHECKS = [
    ("Date;Inv. no.;Examiner;Condition", "12.03.2019;K 108;Ada;good"),
    ("Inventarnummer;Datum;Prüfer;Zustand;Befund;Nächste Kontrolle", "K 108;12.03.2019;Ida;mittel;feucht;12.03.2020"),
    ("Object number,Date,Remarks", "K 108,2019-03-12,lifting at the rim"),
    ("N° d'inventaire;Date;Restaurateur;État", "K 108;12/03/2019;Léa;bon"),
    ("Accession No,Title,Date checked,Condition,Action", "K 108,Sign,2019-03-12,poor,consolidate"),
]


@pytest.mark.parametrize(("head", "row"), CHECKS, ids=[c[0] for c in CHECKS])
def test_a_list_of_checks_is_never_taken_for_a_catalogue_unasked(head, row, write_csv):
    path = write_csv("c.csv", head, row)

    (source,) = pipeline.open_files([path], pipeline.held_or_empty(Store(path.with_name("none.duckdb")))).sources

    assert {source.mapping.record, *(m.record for m in source.others)} == {"object", "condition_check"}
    catalogue = next(m for m in (source.mapping, *source.others) if m.record == "object")
    assert not {"date_text", "earliest_year", "latest_year"} & set(catalogue.columns.values())


CATALOGUES = [
    ("Accession No,Title,Date,Condition", "K 108,Sign,c. 1930,good"),
    ("Accession No,Title,Material,Date,Condition,Condition date", "K 108,Sign,enamel on steel,1930,good,2019-03-12"),
    ("Accession No,Title,Acquired on", "K 108,Sign,2001-05-06"),
]


@pytest.mark.parametrize(("head", "row"), CATALOGUES, ids=[c[0] for c in CATALOGUES])
def test_a_catalogue_is_no_list_of_checks(head, row, write_csv):
    path = write_csv("c.csv", head, row)

    (source,) = pipeline.open_files([path], pipeline.held_or_empty(Store(path.with_name("none.duckdb")))).sources

    assert (source.mapping.record, source.others) == ("object", ())


def test_a_list_of_checks_needs_no_number_of_its_own(write_csv, bring_in, store):
    bring_in(write_csv("o.csv", "object_id,title", "K 108,Sign", "K 109,Bowl"))

    result = bring_in(
        write_csv(
            "c.csv",
            "Date;Inv. no.;Examiner;Condition;Remarks",
            "12.03.2019;K 108;Ada;good;clean",
            "12.03.2019;K 108;Ben;fair;dusty",
            "13.03.2019;K 999;Ada;good;",
        ),
        record="condition_check",
    )

    checks = store.read()["condition_check"].select("check_id", "examiner", "grade", "summary_observed").rows()
    assert checks == [("K 108/2019-03-12", "Ada", "good", "clean"), ("K 108/2019-03-12b", "Ben", "fair", "dusty")]
    assert store.read()["object"].height == 2  # a number nobody knows makes no object
    assert result.problems.filter(level="refuse")["rule"].to_list() == ["unknown_reference"]


def test_a_date_of_full_days_is_no_date_of_making(write_csv, bring_in, store):
    bring_in(write_csv("o.csv", "object_id,title,earliest_year", "K 108,Sign,1930"))

    bring_in(write_csv("d.csv", "Accession No,Date", "K 108,2019-03-12"), record="object")

    assert store.read()["object"]["earliest_year"].to_list() == [1930]


def test_words_that_say_nothing_of_enamel_are_asked_about_and_words_that_deny_it_are_outside(write_csv, answer_to):
    result = answer_to(
        write_csv(
            "o.csv",
            "Accession No;Title;Technik;Material",
            "V.1;Teller;Grisaille;Kupfer",
            "V.2;Becher;;Glas mit Emailmalerei",
            "V.3;Box;Lack;Silber",
            "V.4;Tray;japanned;iron",
            "V.5;Ring;;",
        )
    )

    assert result.files.select("new", "outside", "refused").row(0) == (3, 2, 0)
    asked = result.problems.filter(level="ask").select("source_row", "rule", "value").rows()
    assert asked == [(4, "material_not_read", "Lack; Silber")], "under Technik the word for a technique is enough"
    outside = result.problems.filter(level="outside").select("source_row", "value").rows()
    assert [row for row, _ in outside] == [3, 5]
    assert all(value for _, value in outside)


@pytest.mark.parametrize("mark", ["ja", "x", "oui", "yes", "1", "take"])
def test_any_mark_takes_a_row_anyway(mark, write_csv, judge):
    judged = judge(
        write_csv("o.csv", "Accession No,Material,take it anyway", f"V.1,porcelain,{mark}", "V.2,porcelain,no")
    )

    assert judged.rows("object")["object_id"].to_list() == ["V.1"]


def test_sizes_and_dates_that_were_not_read_are_counted_by_column_with_examples(write_csv, answer_to):
    result = answer_to(
        write_csv(
            "o.csv",
            "Accession No;Dimensions;Date made;Weather",
            "V.1;7 x 5;um die Zeit der Grossmutter;wet",
            "V.2;50x20;1850;",
            "V.3;H. 4,5 cm;n.d.;",
            "V.4;small;1 May of old;",
        )
    )

    cells = result.unread.cells.select("column", "cells", "examples").rows()
    assert ("dimensions_text", 2, ["7 x 5", "50x20"]) in cells
    assert ("date_text", 2, ["um die Zeit der Grossmutter", "1 May of old"]) in cells
    assert result.unread.headings == {"o.csv": ["Weather"]}
    assert result.files["new"].to_list() == [4]


def test_numbers_without_a_unit_are_left_out_counted_and_said(write_csv, judge):
    judged = judge(write_csv("o.csv", "Accession No;Item height;Weight", "V.1;12;300 g", "V.2;1,250;", "V.3;8 cm;"))

    assert judged.rows("object").select("height_mm", "mass_g").rows() == [(None, 300.0), (None, None), (80.0, None)]
    assert judged.answer.unread.cells.select("column", "cells", "examples").rows() == [
        ("height_mm", 2, ["12", "1,250"])
    ]
    assert judged.answer.files["new"].to_list() == [3]


def test_one_cell_in_brackets_drops_no_column(write_csv, bring_in, store):
    bring_in(write_csv("o.csv", "object_id,title", 'V.1,"[""Fox""] plaque"', 'V.2,"[""Jug""]"', "V.3,Bowl"))
    bring_in(write_csv("k.csv", "object_id,title", '"[""V.4""]",Box'))

    titles = dict(store.read()["object"].select("object_id", "title").rows())
    assert titles == {"V.1": '["Fox"] plaque', "V.2": '["Jug"]', "V.3": "Bowl", '["V.4"]': "Box"}


def test_two_places_of_one_name_are_asked_about_and_none_is_chosen(write_csv, bring_in, store):
    bring_in(
        write_csv("l.csv", "location_id,within,name", "A,,Room A", "B,,Room B", "A-1,A,Shelf 1", "B-1,B,Shelf 1"),
        record="location",
    )

    result = bring_in(
        write_csv("o.csv", "Accession No,Title,Location", "V.1,Box,Shelf 1", "V.2,Jug,room a", "V.3,Cup,b-1")
    )

    assert store.read()["object"]["location_id"].to_list() == [None, "A", "B-1"]
    (problem,) = result.problems.filter(rule="place_ambiguous").to_dicts()
    assert problem["level"] == "ask"
    assert "A-1, B-1" in problem["expected"]


def test_a_place_is_added_only_where_an_accepted_object_needs_it(write_csv, bring_in, store):
    result = bring_in(
        write_csv("o.csv", "Accession No,Title,Location", "V.1,Box,Attic", "V.2,Jug,attic", "../x,Cup,Cellar")
    )

    assert store.read()["location"].select("location_id", "name").rows() == [("Attic", "Attic")]
    assert store.read()["object"]["location_id"].to_list() == ["Attic", "Attic"]
    assert result.problems.filter(rule="place_made").select("source_row", "value").rows() == [(2, "Attic")]


def test_objects_and_their_parts_come_in_one_delivery(write_csv, bring_in, store):
    objects = write_csv("objects.csv", "object_id,height_mm,condition_remark", "V.1,100,chipped 1986")
    parts = write_csv("parts.csv", "object_id,part,enamel_area_mm2", "V.1,whole,9000")
    checks = write_csv("checks.csv", "check_id,object_id,checked_on,look", "V.1/remark,V.1,1990,sweep")

    bring_in(objects, parts, checks)

    assert store.read()["part"].select("part", "enamel_area_mm2").rows() == [("whole", 9000.0)]
    assert store.read()["condition_check"].select("check_id", "checked_on").rows() == [("V.1/remark", "1990")]


def test_lines_that_are_no_rows_are_counted_apart(write_csv, judge):
    lines = ["Accession No,Title", "CASE A,", "V.1,Box", "Accession No,Title", "V.2,Jug", "V.3,Cup", "Total,"]

    judged = judge(write_csv("o.csv", *lines))

    assert judged.answer.files.select("rows", "new", "between", "refused").row(0) == (6, 3, 3, 0)
    assert judged.answer.readings.select("source_row", "outcome").rows() == [
        (2, "between"), (3, "new"), (4, "between"), (5, "new"), (6, "new"), (7, "between"),
    ]  # fmt: skip
    assert judged.rows("object")["object_id"].to_list() == ["V.1", "V.2", "V.3"]


def test_readings_have_a_line_for_every_row_of_every_record(write_csv, answer_to):
    objects = write_csv("o.csv", "object_id,height_mm", "V.1,12", "V.2,tall")
    damage = write_csv("d.csv", "damage_id,object_id,kind", "D.1,V.1,chip", "D.2,V.9,chip")

    readings = answer_to(objects, damage).readings

    assert readings.select("record", "source_row", "object_id", "outcome").rows() == [
        ("object", 2, "V.1", "new"),
        ("object", 3, "V.2", "new"),
        ("damage", 2, "V.1", "new"),
        ("damage", 3, "V.9", "refused"),
    ]


@pytest.mark.parametrize(("text", "year"), [("2020-1-5", 2020), ("2020-12-5", 2020), ("1900-05", None)])
def test_a_short_day_in_prose_is_one_year_and_no_range(text, year, write_csv, judge):
    judged = judge(write_csv("o.csv", "Accession No,Date made", f"V.1,{text}"))

    first, last = judged.rows("object").select("earliest_year", "latest_year").row(0)
    if year:
        assert (first, last) == (year, year)


def test_a_suggestion_says_which_headings_were_passed_over(write_csv):
    sheet = next(read_sheets(write_csv("w.csv", "ObjectID,ObjectNumber,Title", "76,57.1924,Bowl")))

    assert suggest(sheet).passed_over == {"ObjectID": "object_id"}


def test_numbers_with_thousands_read_the_same_in_a_column_and_in_a_sentence(write_csv, bring_in, store):
    bring_in(write_csv("o.csv", "object_id,height_mm", 'V.1,"1,250 mm"'))
    bring_in(write_csv("p.csv", "object_id,Dimensions", 'V.2,"H: 1,250 mm"'))

    assert store.read()["object"]["height_mm"].to_list() == [1250.0, 1250.0]


def test_a_german_column_is_read_by_the_evidence_of_all_its_cells(write_csv, bring_in, store):
    bring_in(write_csv("o.csv", "Inventarnummer;Höhe (mm)", "V.1;1.250", "V.2;980,5", "V.3;12", "V.4;1.250,5 mm"))

    assert store.read()["object"]["height_mm"].to_list() == [1250.0, 980.5, 12.0, 1250.5]


def test_polars_frames_say_their_schema(write_csv, bring_in):
    from collection.intake.delivery import COUNTS, READINGS

    result = bring_in(write_csv("o.csv", "object_id", "V.1"))

    assert result.files.schema == COUNTS
    assert result.readings.schema == READINGS
    assert isinstance(result.changes, pl.DataFrame)
