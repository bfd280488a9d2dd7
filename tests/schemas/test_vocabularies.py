"""Vocabularies: every term says where it comes from; identifiers only where verified; a broken file names its place."""

from pathlib import Path

import pytest

from schemas.errors import VocabularyError
from schemas.vocabularies import STATUS_WORDS, Vocabulary, load_parameters, vocabularies, vocabulary

# Every pair was read in a source named in the reference on trade knowledge, section 1B (Linked Conservation Data
# alignments, American Art Collaborative mappings, Linked Art vocabulary page).
VERIFIED_AAT = {
    "cloisonne": "300053778", "copper": "300011020", "copper_alloy": "300010942", "brass": "300010946", "bronze": "300010957",
    "silver": "300011029", "gold": "300011021", "crack": "300209168", "lifting": "300256571", "loss": "300263354",
    "abrasion": "300053077", "acrylic_b72": "300380470", "plaque": "300010262", "vase": "300132254",
}  # fmt: skip


@pytest.mark.parametrize("name", vocabularies())
def test_every_term_has_definition_source_and_status(name):
    for entry in vocabulary(name).term.values():
        assert entry.label
        assert entry.definition
        assert entry.source
        assert entry.status in STATUS_WORDS


def test_identifiers_are_the_verified_ones():
    found = {key: e.aat for v in vocabularies().values() for key, e in v.term.items() if e.aat}

    assert {key: found.get(key) for key in VERIFIED_AAT} == VERIFIED_AAT


@pytest.mark.parametrize("file", ["rates", "unchecked", "climate_response", "grade_floor", "lines", "interval_months"])
def test_starting_values_say_that_they_are_judgement(file):
    assert load_parameters(file)["status"] == "J"
    assert "judgement" in load_parameters(file)["source"].lower()


def test_years_are_in_order():
    for table in ("rate", "repair", "repair_material"):
        for row in load_parameters("rates")[table].values():
            for state in row.values():
                if isinstance(state, dict):
                    short, likely, long = state["years"]
                    assert 0 < short <= likely <= long


def test_a_broken_file_is_named_with_the_place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    (tmp_path / "odd.toml").write_text(
        'label = "Odd"\ndefinition = "d"\nstatus = "V"\nsource = ""\n[term.a]\nlabel = "A"\n', "utf-8"
    )
    monkeypatch.setenv("ENAMELS_VOCABULARIES", str(tmp_path))
    vocabularies.cache_clear()
    load_parameters.cache_clear()

    with pytest.raises(VocabularyError, match=r"odd\.toml, odd\."):
        vocabularies()

    monkeypatch.undo()
    vocabularies.cache_clear()
    load_parameters.cache_clear()


def test_widest_term_follows_broader_terms():
    terms = {k: {"label": k, "definition": k, "status": "V", "source": "s"} for k in "abc"}
    terms["a"]["broader"], terms["b"]["broader"] = "b", "c"
    made = Vocabulary.model_validate(
        {"name": "v", "label": "v", "definition": "d", "status": "V", "source": "s", "term": terms}
    )

    assert made.root_term("a") == "c"
