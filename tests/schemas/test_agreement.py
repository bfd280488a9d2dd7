"""Files of terms and files of values agree, and a term that lacks its row is said with the file that lacks it."""

import pytest

from collection.intake import languages
from schemas.agreement import require_agreement
from schemas.errors import VocabularyError
from schemas.terms import Damage
from schemas.vocabularies import load_parameters, terms, vocabularies, vocabulary

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

    wordless = set(vocabulary("damage").term) - set(english.remarks["damage"])
    assert wordless == NAMED_BY_NOBODY, "[remarks.damage] of languages/en.toml is to have words for each"


@pytest.mark.parametrize(
    ("file", "old", "new", "says"),
    [
        ("damage.toml", 'anchors = ["one short line, under 10 mm", ', "anchors = [", "anchor for each severity"),
        ("condition_lists.toml", "stage_5 = {", "# stage_5 = {", "word for each stage"),
        ("cautions.toml", 'technique = ["musen"]', 'technique = ["mussen"]', "technique mussen"),
        ("cautions.toml", 'damage = ["unstable_glass"]', 'damage = ["unstabel_glass"]', "damage unstabel_glass"),
    ],
    ids=["severity", "stages", "term of a caution", "property of a caution"],
)
def test_words_that_go_with_a_kind_and_cautions_agree_with_their_lists(own_folder, file, old, new, says):
    own_folder(file, old, new)

    with pytest.raises(VocabularyError, match=says):
        require_agreement()


def test_a_kind_that_makes_no_hazard_needs_no_rates(own_folder):
    own_folder("damage.toml", "\n[term.crack]", KIND.replace("\n[term.crack]", "\nno_hazard = true\n[term.crack]"))

    require_agreement()


def test_every_kind_says_what_it_looks_like_and_what_it_is_mistaken_for():
    kinds = terms("damage", Damage)

    unsaid = [k for k, its in kinds.items() if not (its.looks_like and its.mistaken_for and its.signs_source)]
    assert unsaid == [], "damage.toml is to give looks_like, mistaken_for and signs_source of each"
    without = [k for k, its in kinds.items() if not (its.flaw or its.anchors)]
    assert without == [], "damage.toml is to give anchors of each that is no flaw of firing, one for each severity"


def test_figures_taken_over_by_judgement_are_those_of_the_term_named():
    """Years, depths, what is at risk and how it is handled; only the layer, shedding and climate may differ."""
    may_differ = {"judged_as", "layer", "sheds", "climate"}
    taken_over = 0
    for table in ("rate", "repair", "repair_material"):
        rows = load_parameters("rates")[table]
        for name, row in rows.items():
            if nearest := row.get("judged_as"):
                taken_over += 1
                assert {k: v for k, v in row.items() if k not in may_differ} == {
                    k: v for k, v in rows[nearest].items() if k not in may_differ
                }, f"{name} takes the figures of {nearest} over: change both, or take out its judged_as"
    assert taken_over >= 35


def test_flaws_residues_and_a_missing_part_have_no_rates():
    harmless = set(vocabulary("damage").terms_where("no_hazard"))

    assert {"part_missing", "polish_residue", "label_residue", "pinhole", "fishscale"} <= harmless
    assert harmless & set(load_parameters("rates")["rate"]) == set()
