"""Every word of the report stands in its TOML, with where it comes from; code names no term."""

import ast
from pathlib import Path

import pytest

from collection.documents import words as module
from collection.documents.words import words
from collection.questions.cautions import of_danger
from schemas.tables import RECORDS
from schemas.vocabularies import STATUS_WORDS, load_parameters, vocabularies, vocabulary

MODULES = sorted(Path(module.__file__).parent.glob("*.py"))
COLUMNS = {*RECORDS, *(name for spec in RECORDS.values() for name in spec.schema())}
# Words that are both a term and something else: a key of words.toml, how Polars joins, a property of a term.
WORDS = {"left", "unknown", "loose", "none", "return", "yes", "no"}
TERMS = {term for its in vocabularies().values() for term in its.term} - COLUMNS - WORDS


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.name)
def test_no_text_of_the_code_is_a_term(path):
    keys = {key for part in words().values() if isinstance(part, dict) for key in part}
    found = [
        n.value
        for n in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(n, ast.Constant) and n.value in TERMS - keys
    ]

    assert found == []


def test_every_danger_has_a_caution_and_every_caution_a_qualified_person():
    told = {agent: of_danger(agent) for agent in vocabulary("danger_agent").term}

    assert all(told.values())
    assert {c["ask"] for c in load_parameters("cautions")["caution"]} <= set(vocabulary("qualified").term)
    assert all({"status", "source", "keep", "because"} <= set(c) for c in load_parameters("cautions")["caution"])


def test_every_instruction_says_where_it_comes_from():
    whole = words()
    entries = [
        *whole["text"].values(),
        *whole["falls_off"],
        *whole["standing"],
        *whole["handling"],
        whole,
    ]

    assert all(
        {"status", "source"} <= set({"status": whole["status"], "source": whole["source"]} | entry) for entry in entries
    )
    assert all(entry.get("status", whole["status"]) in STATUS_WORDS for entry in entries)
    assert all(("status" in entry) == ("source" in entry) for entry in entries)


def test_no_instruction_gives_a_dose_or_a_procedure():
    texts = " ".join(entry["text"] for name in ("falls_off", "standing", "handling") for entry in words()[name])

    assert not set("%") & set(texts)
    assert "acetone" not in texts.lower()
