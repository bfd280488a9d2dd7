"""Refused rows settled and overruled on the page: through the rules, without any file, each row by itself."""

import polars as pl

from collection.questions.refused_rows import refused_rows
from collection.recording.refused_rows import overrule, settle


def test_a_ragged_row_ticked_with_others_stops_none_of_them(write_csv, bring_in, store):
    bring_in(
        write_csv(
            "c.csv",
            "Accession No,Title,Material",
            "1,Bowl,enamel on copper,extra",
            "2,Jug,Porcelain",
            "../3,Cup,enamel",
        )
    )
    rows = refused_rows(store.read())

    told = overrule(store, rows, by="Ida")

    held = store.read()
    assert held["object"].select("object_id", "title").rows() == [("2", "Jug")]
    assert told.startswith("1 taken. 1 still refused by the rules: the number reads like a path to a file.")
    assert "1 cannot be taken" in told
    assert held["refused_row"].filter(pl.col("settled_by").is_not_null())["source_row"].to_list() == [3]


def test_what_was_typed_stays_when_a_row_is_taken_anyway(write_csv, bring_in, store):
    bring_in(write_csv("c.csv", "Accession No,Title,Material,Height (cm)", '2,Jug,"porcelain, silver mount",7'))

    overrule(store, refused_rows(store.read()), by="Ida")

    assert store.read()["object"].select("title", "height_mm").rows() == [("Jug", 70.0)]


def test_taking_rows_writes_no_second_file_and_can_be_undone(write_csv, bring_in, store):
    bring_in(write_csv("c.csv", "Accession No,Material", "1,enamel on gold", "2,Porcelain"))
    overrule(store, refused_rows(store.read()), by="Ida")

    assert store.read()["intake_file"]["name"].to_list() == ["c.csv"]
    assert store.read()["object"]["object_id"].to_list() == ["1", "2"]
    store.undo(by="Ida")
    assert store.read()["object"]["object_id"].to_list() == ["1"]


def test_rows_that_one_person_settled_are_not_settled_again(write_csv, bring_in, store):
    bring_in(write_csv("c.csv", "Accession No,Material", "2,Porcelain"))
    rows = refused_rows(store.read())

    assert settle(store, rows, by="Ida", how="asked the lender") == "1 row is marked as dealt with."
    assert "Somebody else" in settle(store, rows, by="Udo", how="otherwise")
