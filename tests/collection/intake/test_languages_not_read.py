"""Words that nobody knows: a column whose language is not read, a word beside a year, damage that may be denied.

Phrases are invented in the words of the trade: common practice, no source.
"""

import re

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from collection.intake.about_sheets import figures
from collection.intake.languages import load
from collection.intake.text.dates import read_dates
from collection.intake.text.dimensions import read_sizes
from collection.intake.text.known_words import KnownWords, known_of, words_to_know
from collection.intake.text.remarks import read_remarks

ALL = load()
KNOWN = ALL.known_words
HEADINGS = "Inv. no.,Title,Material,Date,Condition"
FINNISH = (
    "F.1,Rasia,emali kuparilla,noin 1750,ei rust",
    "F.2,Malja,posliini ja glass,ennen vuotta 1638,ilman crack",
    "F.3,Lautanen,maalattu porcelain,1822,emali lohkeillut",
    "F.4,Sormus,kullattu hopea,vuodelta 1822,kansi puuttuu",
)
ENGLISH = (
    "E.1,Bowl,Painted enamel on copper,about 1750,small chip at the rim",
    "E.2,Tray,Porcelain with overglaze enamels,before 1638,no cracks",
    "E.3,Cup,Champlevé enamel on gilded copper,1822,old wax fill",
)


def test_the_language_of_these_phrases_is_not_read():
    read = [language.language for language in ALL.each]
    assert "fi" not in read, "Finnish is read now: write the phrases of this file in a language that has no file"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("émail peint sur cuivre, XVIe s.", ("émail", "peint", "sur", "cuivre")),
        ("H. 12,5 cm", ("cm",)),
        ("1750-1760", ()),
        ("七宝 1880", ("七宝",)),
        ("", ()),
    ],
)
def test_numbers_signs_letters_and_roman_numerals_need_not_be_known(text, words):
    assert words_to_know(text) == words


def test_a_word_is_known_in_the_language_that_knows_most_of_its_text():
    one, other = KnownWords.of(["old gold"]), KnownWords.of(["gammal", "guld"])

    assert known_of("old guld gammal", [one, other]) == (3, 2), "not three: nobody speaks both at once"


@pytest.mark.parametrize(("word", "known"), [("guld", True), ("guldet", True), ("gulden", False), ("guldbägare", True)])
def test_a_word_is_known_with_the_endings_of_its_language_and_as_a_compound(word, known):
    language = KnownWords.of(["guld", "guld*bägare", "guldb*"], endings=("et",))

    assert language.knows(word) == known


@pytest.mark.parametrize(("word", "known"), [("utan", True), ("után", False), ("émail", True), ("email", True)])
def test_other_accents_are_another_word_and_none_are_the_same(word, known):
    assert KnownWords.of(["utan", "émail"]).knows(word) == known


@given(st.lists(st.sampled_from(["guld", "xyzzy", "silver", "qwrt"]), max_size=6))
def test_no_more_words_are_known_than_there_are(words):
    number, known = known_of(" ".join(words), KNOWN)

    assert number == len(words)
    assert known == sum(word in ("guld", "silver") for word in words)


def test_of_a_language_that_is_not_read_nothing_is_concluded_and_that_is_said(store, bring_in, write_csv):
    done = bring_in(write_csv("f.csv", HEADINGS, *FINNISH))

    assert done.files.select("new", "outside", "refused").row(0) == (4, 0, 0)
    held = store.read()
    assert held["damage"].is_empty()
    assert held["condition_check"].height == 4, "the remarks stay as they are"
    shares = dict(done.unread.words.select("column", "share_known").rows())
    assert set(shares) == {"materials_text", "date_text", "condition_remark"}
    assert max(shares.values()) < figures()["least_share_known"]
    asked = done.problems.filter(rule="language_not_read")
    assert set(asked["column"]) == set(shares)
    assert "Svenska" in asked["expected"][0]
    doubted = done.problems.filter(rule="date_doubtful").select("source_row", "value").rows()
    assert doubted == [(2, "noin 1750"), (3, "ennen vuotta 1638"), (5, "vuodelta 1822")], "a plain year is as it stands"
    denied = done.problems.filter(rule="remark_in_another_language")["source_row"].to_list()
    assert denied == [2, 3]
    assert done.problems.filter(rule="material_not_read").height == 4


def test_a_language_that_is_read_is_believed(store, bring_in, write_csv):
    done = bring_in(write_csv("e.csv", HEADINGS, *ENGLISH))

    assert done.files.select("new", "outside", "refused").row(0) == (2, 1, 0)
    assert done.unread.words["share_known"].min() == 1
    assert not {"language_not_read", "date_doubtful", "remark_doubtful"} & set(done.problems["rule"])
    assert store.read()["damage"]["kind"].to_list() == ["chip"]


def test_too_few_words_tell_no_language(bring_in, write_csv):
    done = bring_in(write_csv("f.csv", "Inv. no.,Material", "F.1,emali kuparilla"))

    assert "language_not_read" not in set(done.problems["rule"])
    assert "material_not_read" in set(done.problems["rule"])


def test_findings_of_checks_in_another_language_are_no_damage(store, bring_in, write_csv):
    bring_in(write_csv("e.csv", HEADINGS, *ENGLISH))
    lines = [f"E.1,2024-03-1{n},Ida,{text}" for n, text in enumerate(("bez rust i crack", "brak chip na brzegu"))]
    done = bring_in(write_csv("c.csv", "Inventory number,Date,Examiner,Remarks", *lines), record="condition_check")

    assert store.read()["damage"]["kind"].to_list() == ["chip"]
    assert done.problems.filter(rule="remark_in_another_language").height == 2


def test_the_command_says_which_share_is_known_and_which_languages_are_read(enamels, write_csv):
    _, out, _ = enamels("intake", str(write_csv("f.csv", HEADINGS, *FINNISH)), "--yes", "--by", "Ida")

    assert re.search(r"words known: materials_text \d+ %", out)
    assert "read are Dansk, Deutsch, English" in out


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("noin 1750", "noin"),
        ("ennen 1638", "ennen"),
        ("ennen vuotta 1638", "vuotta"),
        ("około 1750", "około"),
        ("1750 körül", "körül"),
        ("1700 után", "után"),
        ("até 1638", "até"),
        ("n. 1750", "n"),
        ("kolem r. 1750", "r"),
        ("Paris 1889", "Paris"),
        ("anterius à 1711", "anterius"),
    ],
)
def test_an_unknown_word_beside_a_year_makes_it_a_doubt(text, word):
    assert read_dates(pl.DataFrame({"date_text": [text]}), ALL)["word_beside"].to_list() == [word]


@pytest.mark.parametrize(
    "text",
    [
        "prior 1638", "about 1750", "dated 1822", "made in 1822", "Paris, 1889", "vers 1750", "daté 1822", "um 1750", "datiert 1822",
        "omstreeks 1750", "gedateerd 1822", "omkring 1750", "daterad 1822", "verso il 1750", "datato 1822", "hacia 1750", "fechado 1822",
        "dateret 1822", "datert 1822", "formentlig 1750", "probably 1750", "XVIIIe siècle", "18th century", "signed and dated 1822", "1750",
    ],
)  # fmt: skip
def test_words_that_are_known_make_no_doubt(text):
    assert read_dates(pl.DataFrame({"date_text": [text]}), ALL)["word_beside"].to_list() == [None]


@pytest.mark.parametrize(
    "text",
    [
        "probably 1790",
        "vermutlich 1790",
        "probablement 1790",
        "troligen 1790",
        "forse 1790",
        "quizás 1790",
        "muligens 1790",
    ],
)
def test_a_year_that_is_probable_is_not_exact(text):
    assert read_dates(pl.DataFrame({"date_text": [text]}), ALL)["date_circa"].to_list() == [True]


@pytest.mark.parametrize(
    ("text", "kinds", "doubted"),
    [
        ("fără lacune", [], True),
        ("halkeamia crack", [], True),
        ("fără lacune; small chip at the rim", ["chip"], True),
        ("small chip near the lid", ["chip"], False),
        ("chip", ["chip"], False),
        ("no chips", [], False),
        ("Exempt de fissures et d'éclats", [], False),
    ],
)
def test_damage_among_nothing_but_unknown_words_may_be_denied(text, kinds, doubted):
    row = read_remarks(pl.Series([text]), ALL).row(0, named=True)
    assert (row["kinds"], row["doubted"]) == (kinds, doubted)


@pytest.mark.parametrize("text", ["senza lacune", "fri for rust", "uden revner", "sin grietas"])
def test_a_denial_without_its_language_file_is_a_question(text):
    few = load(only=["en", "fr", "de"])
    row = read_remarks(pl.Series([text]), few).row(0, named=True)
    assert row["kinds"] == []


@pytest.mark.parametrize(
    ("text", "sizes"),
    [
        ("Height: 80 mm, bore 9 mm", (80.0, None, None, None)),
        ("lichte Weite 4 cm, H. 9 cm", (90.0, None, None, None)),
        ("korkeus 12 cm, leveys 8 cm", (None, None, None, None)),
        ("h 5 cm; xyz 3 x 2 cm", (50.0, None, None, None)),
        ("inro: 4 x 2 cm", (40.0, 20.0, None, None)),
        ("14.5 (h) x 9.2 (w) x 3 (d) cm", (145.0, 92.0, 30.0, None)),
        ("weight 12 g, H. 4 cm", (40.0, None, None, None)),
    ],
)
def test_a_number_after_an_unknown_word_has_no_axis(text, sizes):
    row = read_sizes(pl.DataFrame({"dimensions_text": [text]}), ALL)
    assert row.select("height_mm", "width_mm", "depth_mm", "diameter_mm").row(0) == sizes


def test_what_is_read_in_part_is_said(bring_in, write_csv):
    done = bring_in(
        write_csv(
            "o.csv", "Inv. no.;Material;Dimensions;Condition",
            "P.1;enamel, xyzzy work on copper;Height: 80 mm, bore 9 mm;small chip at the rim, xyzzy", "P.2;enamel on copper;H. 8 cm;small chip at the rim",
        )
    )  # fmt: skip

    partly = done.problems.filter(pl.col("rule").str.contains("partly")).select("source_row", "rule").rows()
    assert partly == [(2, "remark_partly_read"), (2, "size_partly_read"), (2, "material_partly_read")]
