"""Headings that are kept: further facts of the object, stored with it, changed with its file, undone with it."""

import polars as pl
import pytest

from collection.pipeline import assess_store
from collection.questions import object_record
from collection.settings import as_of_day

MAPPING = (
    'record = "object"\n[columns]\n"No" = "object_id"\n"Title" = "title"\n"Fund" = "keep"\n"Shelf mark" = "keep"\n'
)


@pytest.fixture
def with_mapping(bring_in, write_csv, tmp_path):
    """Bring in lines of a file with the text of a mapping."""

    def bring(name: str, *lines: str, mapping: str = MAPPING):
        (tmp_path / "m.toml").write_text(mapping, "utf-8")
        return bring_in(write_csv(name, *lines), mapping=tmp_path / "m.toml")

    return bring


def facts(store):
    return store.read()["further_fact"].select("object_id", "name", "text").rows()


def test_cells_under_a_heading_that_is_kept_are_facts_as_written(with_mapping, store):
    result = with_mapping("a.csv", "No,Title,Fund,Shelf mark", 'V.1,Bowl, "Miller; 2" ,R 2', "V.2,Tray,,=R3")

    assert facts(store) == [("V.1", "Fund", '"Miller; 2"'), ("V.1", "Shelf mark", "R 2"), ("V.2", "Shelf mark", "=R3")]
    assert result.unread.headings == {}
    assert store.read()["further_fact"]["source_file"].unique().to_list() == ["a.csv"]


def test_a_fact_that_differs_is_a_change_that_is_shown_and_the_same_is_none(with_mapping, store):
    with_mapping("a.csv", "No,Title,Fund", "V.1,Bowl,Miller")

    result = with_mapping("b.csv", "No,Title,Fund", "V.1,Bowl,Mill")
    again = with_mapping("c.csv", "No,Title,Fund", "V.1,Bowl,Mill")

    assert result.changes.select("record", "key", "before", "after").rows() == [
        ("further_fact", "V.1 / Fund", '"Miller"', '"Mill"')
    ]
    assert facts(store) == [("V.1", "Fund", "Mill")]
    assert again.written.delivery_id is None


def test_rows_that_are_refused_or_outside_leave_no_fact(with_mapping, store):
    mapping = MAPPING + '"Material" = "materials_text"\n'
    with_mapping("a.csv", "No,Title,Fund,Material", ",Bowl,A,enamel on copper", "V.2,Cup,B,porcelain", mapping=mapping)

    assert facts(store) == []


def test_an_undo_takes_the_facts_of_a_delivery_back(with_mapping, store):
    with_mapping("a.csv", "No,Title,Fund", "V.1,Bowl,Miller")
    with_mapping("b.csv", "No,Title,Fund", "V.1,Dish,Mill", "V.2,Tray,Mill")

    store.undo(by="Ida")

    assert facts(store) == [("V.1", "Fund", "Miller")]


@pytest.mark.parametrize("more", ['[same]\nkeep = "x"\n', '[words.keep]\n"a" = "b"\n', '[units]\nkeep = "mm"\n'])
def test_what_is_kept_is_neither_worded_nor_the_same_for_all(more, with_mapping):
    with pytest.raises(Exception, match=r"m.toml, line \d+.*stays as it is written"):
        with_mapping("a.csv", "No,Fund", "V.1,x", mapping=MAPPING + more)


def test_what_is_kept_stands_with_what_the_catalogue_says_of_the_object(with_mapping, store):
    with_mapping("a.csv", "No,Title,Fund", "V.1,Bowl,Miller", "V.2,Tray,Other")
    triage = assess_store(store, lambda collection: as_of_day(None, collection))

    assert object_record.in_words(triage, "V.1").rows()[-1] == ("Fund", "Miller")


def test_what_is_kept_is_part_of_a_package(with_mapping, store, tmp_path):
    with_mapping("a.csv", "No,Title,Fund", "V.1,Bowl,Miller")
    store.publish(tmp_path / "p", "csv")

    assert pl.read_csv(tmp_path / "p" / "further_fact.csv")["text"].to_list() == ["Miller"]
