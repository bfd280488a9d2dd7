"""Files of terms and files of values agree, and a term that lacks its row is said with the file that lacks it."""

import pytest

from collection.intake import languages
from schemas.agreement import require_agreement
from schemas.errors import VocabularyError
from schemas.vocabularies import vocabularies, vocabulary

# Kinds that a catalogue does not name in one word; a remark never gives them.
NAMED_BY_NOBODY: set[str] = set()
KIND = (
    '\n[term.pitting]\nlabel = "Pitting"\ndefinition = "Small holes"\nstatus = "J"\nsource = "Judgement"\n[term.crack]'
)


def test_the_files_that_come_with_the_register_agree():
    require_agreement()


def test_a_kind_of_damage_without_rates_names_the_file_and_the_row(own_folder):
    own_folder("damage.toml", "\n[term.crack]", KIND)

    with pytest.raises(
        VocabularyError, match=r"rates\.toml, rate: there is no row for damage pitting.*\[rate\.pitting\]"
    ):
        require_agreement()


@pytest.mark.parametrize(
    ("file", "old", "new", "says"),
    [
        (
            "repair_lists.toml",
            "holds = {",
            'pins = { label = "Pins", definition = "d", noun = "pin" }\nholds = {',
            "repair that pins",
        ),
        ("rates.toml", 'climate = "crizzling"', 'climate = "crizling"', "climate group crizling"),
        ("rates.toml", "[repair_material.shellac", "[repair_material.shelac", "shellac"),
        ("repair_lists.toml", 'handling_row = "active"', 'handling_row = "activ"', "state activ"),
        ("object_type.toml", 'shape = "open_round"', 'shape = "open_rond"', "shape open_rond"),
    ],
)
def test_each_pair_of_files_is_held_against_each_other(own_folder, file, old, new, says):
    own_folder(file, old, new)

    with pytest.raises(VocabularyError, match=says):
        require_agreement()


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("secure = true", "secrue = true", r"damage\.toml, damage\.term\.\w+\.secrue"),
        (
            "secure = true",
            'secure = "yes"',
            r"damage\.toml, damage\.term\.\w+\.secure: Input should be a valid boolean",
        ),
    ],
)
def test_a_property_misspelt_or_of_the_wrong_type_is_refused_where_it_is_read(own_folder, old, new, says):
    own_folder("damage.toml", old, new)

    with pytest.raises(VocabularyError, match=says):
        vocabularies()


def test_a_folder_that_is_not_there_is_said(monkeypatch):
    vocabularies.cache_clear()
    monkeypatch.setenv("ENAMELS_VOCABULARIES", "/nowhere/at/all")

    with pytest.raises(VocabularyError, match="there is no folder /nowhere/at/all"):
        vocabularies()
    monkeypatch.undo()


def test_each_kind_of_damage_has_words_in_english():
    (english,) = languages.load(only=["en"]).each

    assert set(vocabulary("damage").term) - set(english.remarks["damage"]) == NAMED_BY_NOBODY
