"""What came in, told: outcomes added up, filled cells that changed, and what an undo did or did not do."""

import polars as pl
import pytest

from collection.questions.deliveries import (
    changed_cells,
    changed_sentence,
    deliveries,
    deliveries_sentence,
)
from collection.recording.deliveries import undo_delivery, undone_sentences
from collection.store.undo import STANDING, Undone
from schemas.errors import NotFound

LINES = ("Accession No,Title,Technique,Height cm", "1,Bowl,Painted enamel on copper,4", "2,Tray,Cloisonné,5")
MENDED = ("Accession No,Title,Technique,Height cm", "1,Dish,Painted enamel on copper,4", "2,Tray,Cloisonné,7",
          "3,Clock,painted enamel on copper,9")  # fmt: skip


@pytest.fixture
def twice(store, bring_in, write_csv):
    bring_in(write_csv("first.csv", *LINES))
    bring_in(write_csv("second.csv", *MENDED))
    return store


def test_each_delivery_with_its_outcomes_latest_first(twice):
    rows = deliveries(twice.deliveries())

    assert rows["files"].to_list() == ["second.csv", "first.csv"]
    assert rows.select("new", "changed", "unchanged", "refused").rows() == [(1, 2, 0, 0), (2, 0, 0, 0)]
    assert rows["stands"].to_list() == ["stands", "stands"]
    assert deliveries_sentence(rows).startswith("2 deliveries came in, the last ")
    assert deliveries_sentence(rows).endswith("; every row was taken in.")
    assert deliveries_sentence(rows.clear()) == "Nothing has come in yet."


def test_filled_cells_that_changed_by_column_and_no_bookkeeping(twice):
    cells = changed_cells(twice.read_changes_of("D2"))

    by_column = {r["column"]: (r["cells"], r["example"]) for r in cells.iter_rows(named=True)}
    assert by_column["title"] == (1, "1: Bowl \N{RIGHTWARDS ARROW} Dish")
    assert by_column["height_mm"][0] == 1
    assert not {"source_file", "source_row", "entry_no"} & set(by_column)
    assert changed_sentence(cells).startswith("It gave ")
    assert changed_cells(twice.read_changes_of("D1")).is_empty()
    assert changed_sentence(cells.clear()) == "It changed no cell that was filled before."


def test_a_delivery_is_taken_back_with_a_name_and_said_not_to_be_where_others_stand_on_it(twice):
    assert undo_delivery(twice, "D2", by=" ") == ["First give your name."]
    first, *rest = undo_delivery(twice, "D1", by="Ida")
    assert first == "D1 was not undone: later changes stand on its rows."
    assert len(rest) >= 2

    (words,) = undo_delivery(twice, "D2", by="Ida")
    assert words.startswith("D2 is undone: left the register: ")
    assert twice.read()["object"]["title"].to_list() == ["Bowl", "Tray"]
    assert deliveries(twice.deliveries())["stands"].to_list()[0].endswith(" by Ida")
    assert undo_delivery(twice, "D2", by="Ida")[0].startswith("Nothing was undone. ")


def test_a_long_list_of_what_stands_is_cut_and_counted(twice):
    rows = pl.DataFrame(
        [("object", f"{n}", "Ida", "2026-01-01 10:00:00") for n in range(23)], schema=STANDING, orient="row"
    )

    assert list(undone_sentences(Undone("D1", standing=rows)))[-1] == "and 3 more"


def test_of_no_delivery_there_are_no_changes(twice):
    with pytest.raises(NotFound):
        twice.read_changes_of("D9")


def test_a_row_that_somebody_else_wrote_is_shown_as_text():
    row = {
        "delivery_id": "D1",
        "made_at": None,
        "made_by": "x",
        "files": "<b>no list</b>",
        "counts": "none",
        "undone_on": None,
    }
    rows = deliveries(pl.DataFrame([row | {"undone_by": None}]))

    assert rows.select("files", "new", "stands").row(0) == ("<b>no list</b>", 0, "stands")
