"""One declaration serves frame schema, JSON Schema, workbook, dictionary and store."""

import ast
from pathlib import Path
from typing import Annotated

import duckdb
import polars as pl
import pytest
from pydantic import Field

from collection.store.tables import create_table
from collection.validation.cells import within
from schemas.dictionary import dictionary, dictionary_text, json_schema, workbook_headings
from schemas.errors import VocabularyError
from schemas.fields import ForeignKey, FromVocabulary, Key, PartialDate, Record
from schemas.tables import RECORDS, parents_first, specs
from schemas.vocabularies import vocabularies

STORE = Path(__file__).parents[2] / "collection" / "store"
# Words of the Data Package standard that are also columns of ours.
WORDS_OF_THE_STANDARD = {"name", "title", "description", "unit", "value", "sha256"}


class Kiln(Record):
    """A kiln, declared for this test only."""

    record = "kiln"
    key = ("kiln_id",)
    kiln_id: Annotated[Key, Field(description="Number of the kiln")]
    fired_on: Annotated[PartialDate | None, Field(description="Last firing")] = None


def test_a_new_record_appears_everywhere_without_another_edit():
    kiln = specs((Kiln,))["kiln"]

    assert kiln.schema() == {
        "kiln_id": pl.String,
        "fired_on": pl.String,
        "fired_on_earliest": pl.Date,
        "fired_on_latest": pl.Date,
    }
    assert workbook_headings(kiln) == ["kiln_id", "fired_on"]
    assert set(json_schema(kiln)["properties"]) == {"kiln_id", "fired_on"}
    assert [c["name"] for c in dictionary({"kiln": kiln})["records"]["kiln"]["columns"]] == ["kiln_id", "fired_on"]
    assert "Last firing" in dictionary_text({"kiln": kiln})
    con = duckdb.connect()
    con.execute(create_table(kiln))
    assert [row[0] for row in con.sql("DESCRIBE kiln").fetchall()][:4] == list(kiln.schema())


@pytest.mark.parametrize("name", RECORDS)
def test_duckdb_takes_every_table_and_column_unquoted(name):
    con = duckdb.connect()

    con.execute(create_table(RECORDS[name]))

    assert con.sql(f"FROM {name}").fetchall() == []


def test_no_column_is_named_in_the_store():
    columns = {n for spec in RECORDS.values() for n in spec.schema()} - WORDS_OF_THE_STANDARD - set(RECORDS)
    named = [
        (path.name, node.lineno, node.value)
        for path in STORE.glob("*.py")
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and node.value in columns
    ]

    assert named == []


def test_every_key_is_declared_and_every_term_has_a_vocabulary():
    for spec in RECORDS.values():
        assert set(spec.key) <= {c.name for c in spec.columns}
        assert {c.mark(FromVocabulary).vocabulary for c in spec.marked(FromVocabulary)} <= set(vocabularies())


def test_every_constraint_has_an_expression():
    for spec in RECORDS.values():
        for column in spec.columns:
            within(column)  # raises for one it does not know


def test_an_unknown_constraint_is_never_skipped():
    class Odd(Record):
        record = "odd"
        key = ("number",)
        number: Annotated[int, Field(multiple_of=7)]

    with pytest.raises(VocabularyError, match="has no expression"):
        within(specs((Odd,))["odd"].column("number"))


def test_what_is_pointed_to_comes_first():
    order = parents_first()

    assert set(order) == set(RECORDS)
    for name, spec in RECORDS.items():
        for column in spec.marked(ForeignKey):
            parent = column.mark(ForeignKey).record
            assert parent == name or order.index(parent) < order.index(name)
