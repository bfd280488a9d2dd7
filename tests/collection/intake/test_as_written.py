"""What a file said of an object is read again from the file beside the store, and shown only where it is sure."""

import pytest

from collection.intake.as_written import as_written
from collection.store import originals


@pytest.fixture
def rows(store):
    return lambda object_id: [
        (r.file, r.row, list(r.cells), r.lacking) for r in as_written(store.path, store.read(), object_id)
    ]


def test_cells_stand_under_their_headings_as_they_were_typed(bring_in, write_csv, rows):
    bring_in(write_csv("c.csv", "Accession number;Title;Date;Empty", "A 1;Box;um 1750;", "A 2;Dish;;"))

    assert rows("A 1") == [("c.csv", 2, [("Accession number", "A 1"), ("Title", "Box"), ("Date", "um 1750")], "")]


def test_of_two_sheets_the_one_that_names_the_object_is_shown(bring_in, write_xlsx, rows):
    book = write_xlsx("c.xlsx", One=[["object_id", "title"], ["A", "Box"]], Two=[["object_id", "title"], ["B", "Dish"]])
    bring_in(book)

    assert rows("B") == [("c.xlsx", 2, [("object_id", "B"), ("title", "Dish")], "")]


def test_of_two_files_of_one_name_the_newer_row_of_the_object_is_shown(bring_in, write_csv, rows):
    bring_in(write_csv("c.csv", "object_id,title", "A,Box", "B,Dish"))
    bring_in(write_csv("c.csv", "object_id,title", "C,Cup"))

    assert rows("A") == [("c.csv", 2, [("object_id", "A"), ("title", "Box")], "")]
    assert rows("C") == [("c.csv", 2, [("object_id", "C"), ("title", "Cup")], "")]


def test_checks_of_the_object_are_shown_with_it(bring_in, write_csv, rows):
    bring_in(write_csv("c.csv", "object_id,title", "A,Box"))
    bring_in(
        write_csv("k.csv", "check_id,object_id,checked_on,grade", "K1,A,2024-05-06,fair"), record="condition_check"
    )

    assert [(file, row) for file, row, _, _ in rows("A")] == [("c.csv", 2), ("k.csv", 2)]


def test_a_sheet_on_its_side_is_shown_upright(bring_in, write_csv, rows):
    bring_in(write_csv("c.csv", "Accession number,A,B", "Title,Box,Dish", "Technique,cloisonné,champlevé"))

    assert rows("B")[0][2] == [("Accession number", "B"), ("Title", "Dish"), ("Technique", "champlevé")]


def test_a_file_that_is_gone_is_said(bring_in, write_csv, rows, store):
    bring_in(write_csv("c.csv", "object_id,title", "A,Box"))
    next(originals.folder_of(store.path).iterdir()).unlink()

    assert rows("A") == [("c.csv", 2, [], "the file is not beside the store")]


def test_explain_prints_it_when_asked(enamels, write_csv):
    enamels("intake", str(write_csv("c.csv", "object_id,title,technique", "A,Box,cloisonné")), "--yes")

    assert "As it was written" not in enamels("explain", "A")[1]
    assert (
        "  c.csv, row 2\n    object_id: A\n    title: Box\n    technique: cloisonné"
        in enamels("explain", "A", "--as-written")[1]
    )
