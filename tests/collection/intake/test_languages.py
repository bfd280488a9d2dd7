"""Each language file reads its own examples, no other file reads them, and a new language is a new file."""

from pathlib import Path
from typing import Any

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from collection.intake.languages import KINDS, Example, Languages, load
from collection.intake.text.dates import read_dates
from collection.intake.text.dimensions import read_sizes
from collection.intake.text.lexicon import cleaned, plain, words_of
from collection.intake.text.materials import read_materials
from collection.intake.text.remarks import read_grades, read_remarks
from schemas.errors import VocabularyError
from schemas.vocabularies import vocabularies

ALL = load()
NAMES = [language.language for language in ALL.each]
EXAMPLES = [(language.language, example) for language in ALL.each for example in language.example]


def read(example: Example, languages: Languages) -> dict[str, Any]:
    """What the example's reader gives for the columns it expects; empty text for null."""
    if example.reading == "materials":
        row = read_materials(pl.DataFrame({"materials_text": [example.text]}), languages)
    elif example.reading == "dates":
        row = read_dates(pl.DataFrame({"date_text": [example.text]}), languages)
    elif example.reading == "sizes":
        row = read_sizes(pl.DataFrame({"dimensions_text": [example.text]}), languages)
    elif example.reading == "grades":
        row = read_grades(pl.Series("grade", [example.text]), languages).to_frame()
    else:
        row = read_remarks(pl.Series([example.text]), languages)
    values = row.row(0, named=True)
    return {key: "" if values[key] is None else values[key] for key in example.expected}


def test_the_languages_are_those_that_are_named():
    assert NAMES == ["da", "de", "en", "es", "fr", "it", "nl", "no", "sv"], "name a new language here and in README.md"


@pytest.mark.parametrize("name", NAMES)
def test_every_kind_of_reading_has_an_example(name):
    read_in_examples = {example.reading for language, example in EXAMPLES if language == name}
    assert read_in_examples == set(KINDS), f"{name}.toml is to have an [[example]] of each"


@pytest.mark.parametrize("only", NAMES)
def test_examples_are_read_by_their_own_file_alone_and_by_no_other(only):
    alone = load(only=[only])
    for name, example in EXAMPLES:
        got = read(example, alone)
        as_expected = got == dict(example.expected)
        assert as_expected == (name == only), f"{name}.toml, example '{example.text}': {only}.toml alone reads {got}"


def test_examples_are_read_with_all_files_together():
    for _, example in EXAMPLES:
        assert read(example, ALL) == dict(example.expected), example.text


def test_no_word_is_spelt_exactly_like_a_term():
    """A change of a term's name must never change a word of a language."""
    terms = {term for vocabulary in vocabularies().values() for term in vocabulary.term}
    for language in ALL.each:
        words = [*language.marks, *language.weak, *language.loose]
        words += [phrase for reading in KINDS for phrase, _ in language.entries(reading)]
        assert not terms.intersection(words), language.language


@pytest.mark.parametrize("name", NAMES)
def test_no_phrase_means_two_things_of_one_kind(name):
    """Accents part words only where a file lists both: one word with two meanings means nothing."""
    for reading in KINDS:
        meant: dict[tuple[str, str], str] = {}
        for phrase, sense in load(only=[name]).each[0].entries(reading):
            said = "".join(word.written for word in words_of(cleaned(phrase)) if word.text.isalnum() or len(phrase) < 2)
            key = (sense.kind, said + "*" * ("*" in phrase))
            assert meant.setdefault(key, sense.value) == sense.value or not said.isalnum(), phrase


INVENTED = """
language = "xx"
label = "Invented"
status = "J"
source = "made up for a test"
marks = ["zu"]
[materials.vitreous]
enamel_unspecified = ["blorp"]
[materials.techniques]
cloisonne = ["wirblorp"]
[materials.metals]
copper = ["kuz"]
[materials.finishes]
gilded = ["orzo"]
[materials.body]
ceramic = ["potz"]
[materials.role]
upon = ["ux"]
[dates.role]
circa = ["zirkel"]
century = ["sekul"]
[dates.part]
half_2 = ["dua haf"]
[sizes.label]
height = ["altz"]
[sizes.measure_unit]
cm = ["zm"]
[remarks.damage]
crack = ["krax"]
[remarks.repair]
wax = ["waxo"]
[remarks.role]
negation = ["neks"]
[[example]]
reading = "materials"
text = "wirblorp ux kuz, orzo"
expected = { technique = ["cloisonne"], base_metal = "copper", metal_finish = "gilded" }
[[example]]
reading = "materials"
text = "blorp ux potz"
expected = { verdict = "not_enamel_on_metal", verdict_words = "blorp … potz" }
[[example]]
reading = "dates"
text = "zirkel dua haf 16 sekul"
expected = { earliest_year = 1551, latest_year = 1600, date_circa = true }
[[example]]
reading = "sizes"
text = "altz 12,5 zm"
expected = { height_mm = 125.0 }
[[example]]
reading = "remarks"
text = "krax; waxo"
expected = { kinds = ["crack"], repair_materials = ["wax"] }
"""


def test_another_language_needs_a_file_and_nothing_else(tmp_path: Path):
    shipped = Path(__import__("collection.intake.languages", fromlist=["x"]).__file__).parent / "languages"
    for path in shipped.glob("*.toml"):
        (tmp_path / path.name).write_text(path.read_text("utf-8"), "utf-8")
    (tmp_path / "xx.toml").write_text(INVENTED, "utf-8")
    languages = load(tmp_path)
    invented = next(language for language in languages.each if language.language == "xx")
    for example in invented.example:
        assert read(example, languages) == dict(example.expected), example.text
        assert read(example, ALL) != dict(example.expected), example.text
    assert read(Example(reading="remarks", text="neks krax", expected={"kinds": []}), languages) == {"kinds": []}


@pytest.mark.parametrize(
    ("before", "after", "said"),
    [
        ("[remarks.damage]", "[remarks.nonsense]", "no reader understands"),
        ("cloisonne = [", "unheard_of = [", "unknown terms unheard_of"),
        ("language = ", "tongue = ", "language"),
        ("[dates.role]", "[dates.role", "xx.toml"),
    ],
)
def test_a_faulty_file_is_named(tmp_path: Path, before: str, after: str, said: str):
    (tmp_path / "xx.toml").write_text(INVENTED.replace(before, after, 1), "utf-8")
    with pytest.raises(VocabularyError) as raised:
        load(tmp_path)
    assert "xx.toml" in str(raised.value)
    assert said in str(raised.value)


@given(st.text(st.characters(max_codepoint=0x7E)))
def test_a_letter_with_an_accent_behind_it_changes_nothing_of_a_text_without_any(text):
    """Plain texts are read by a shorter way than others; a letter at the end makes the same text take the longer."""
    shown = cleaned(text)

    assert cleaned(f"{text}é") == f"{shown}é"
    assert plain(f"{shown}é") == f"{plain(shown)}e"
