"""A mapping that a person edits: every line is understood, or refused with a sentence that names it."""

import os

import pytest

from collection.intake.mapping.load import load
from collection.intake.mapping.mapping import BROUGHT_IN
from schemas.errors import WrongUsage
from tests.collection.intake.small_mapping import HEAD

# text of the mapping, what the sentence says
WRONG = [
    ("nothing at all", "", "record"),
    ("no table", "record = 3\n[columns]\n", "record"),
    ("a list", 'record = ["object"]\n[columns]\n', "record"),
    ("no columns", 'record = "object"\n', "columns"),
    ("a heading mapped to a number", 'record = "object"\n[columns]\n"A" = 3\n', "columns.A"),
    ("a heading mapped to a day", 'record = "object"\n[columns]\n"A" = 2020-01-01\n', "columns.A"),
    ("sheet is a number", "sheet = 3\n", "'sheet' is no table"),
    ("sheet is a list", "sheet = []\n", "'sheet' is no table"),
    ("a sheet that is a word", '[sheet]\nA = "x"\n', "sheet A"),
    ("an unknown record", 'record = "thing"\n[columns]\n', "'thing' is no record"),
    ("the journal", 'record = "journal"\n[columns]\n"seq" = "seq"\n', "'journal' is no record that a file can bring in"),
    ("files read", 'record = "intake_file"\n[columns]\n"a" = "sha256"\n', "'intake_file' is no record"),
    ("deliveries", 'record = "delivery"\n[columns]\n"a" = "delivery_id"\n', "'delivery' is no record"),
    ("refused rows", 'record = "refused_row"\n[columns]\n"a" = "sha256"\n', "'refused_row' is no record"),
    ("no number", 'record = "object"\n[columns]\n"A" = "title"\n', "no heading is mapped to 'object_id'"),
    ("one column twice", HEAD + '"High" = "height_mm"\n', "several headings are mapped to 'height_mm'"),
    ("an unknown column", HEAD + '"C" = "colour"\n', "'colour' is not a column of object"),
    ("an unknown unit", HEAD + '[units]\nheight_mm = "parsec"\n', "'parsec' is no unit of height_mm"),
    ("a unit of another kind", HEAD + '[units]\nheight_mm = "kg"\n', "'kg' is no unit of height_mm"),
    ("a unit of a title", HEAD + '"T" = "title"\n[units]\ntitle = "cm"\n', "'title' has no unit"),
    ("an order that is none", HEAD + '"On" = "condition_remark_on"\n[order]\n"On" = "dd.mm"\n', "no order of day"),
    ("an order with a part twice", HEAD + '"On" = "condition_remark_on"\n[order]\n"On" = "dd.dd.yyyy"\n', "no order"),
    ("an order among the units", HEAD + '"On" = "condition_remark_on"\n[units]\ncondition_remark_on = "d.x.y"\n', "no order"),
    ("an order of a size", HEAD + '[order]\nheight_mm = "dd.mm.yyyy"\n', "'height_mm' holds no dates"),
    ("an unknown entry", HEAD.replace("[columns]", "colour = 1\n[columns]"), "colour"),
    ("an encoding nobody knows", HEAD.replace("[columns]", 'encoding = "klingon"\n[columns]'), "no encoding"),
    ("an encoding that is no text", HEAD.replace("[columns]", 'encoding = "base64"\n[columns]'), "no encoding"),
    ("decimal comma as a word", HEAD.replace("[columns]", 'decimal_comma = "height_mm"\n[columns]'), "decimal_comma"),
    ("unknown as a word", HEAD + '[unknown]\nheight_mm = "0"\n', "unknown.height_mm"),
    ("one value of an unknown column", HEAD + '[same]\ncolour = "red"\n', "'colour' is not a column of object"),
    ("one value where a heading is", HEAD + '[same]\nheight_mm = 4\n', "same: 'height_mm' has a heading of its own, 'Tall'"),
    ("one value that is no term", HEAD + '[same]\ntechnique = "pottery"\n', "same: 'pottery' is no value of technique"),
    ("one value that says nothing", HEAD + '[same]\ntitle = " "\n', "same: ' ' is no value of title"),
    ("one number for all", 'record = "object"\n[columns]\n"T" = "title"\n[same]\nobject_id = "V.1"\n', "same: all rows would be one object"),
    ("a value list of an unknown column", HEAD + '[words.colour]\n"1" = "red"\n', "'colour' is not a column of object"),
    ("a value list without a term", HEAD + '"How" = "technique"\n[words.technique]\n"1" = "pottery"\n', r"words.technique: 'pottery' \(for '1'\)"),
    ("a value list that is a word", HEAD + '[words]\ntechnique = "pottery"\n', "words.technique"),
    ("a tick of no damage", HEAD + '[ticks]\n"L" = "damage:rust on toast"\n', "ticks: 'damage:rust on toast' names no damage"),
    ("a tick of another record", HEAD + '[ticks]\n"L" = "repair:resin"\n', "ticks: 'repair:resin' names no damage"),
    ("a tick that is a column", HEAD + '[ticks]\n"Tall" = "damage:lifting"\n', "'Tall' is mapped to 'height_mm' already"),
    ("ticks of a place", 'record = "location"\n[columns]\n"N" = "location_id"\n[ticks]\n"L" = "damage:lifting"\n', "a location has no damage"),
    ("a line that ends too early", 'record = "object', "cannot be read"),
    ("a key twice", 'record = "object"\nrecord = "part"\n', "cannot be read"),
    ("deep as a well", "a = " + "[" * 100_000, "cannot be read"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "says"), [w[1:] for w in WRONG], ids=[w[0] for w in WRONG])
def test_a_line_that_is_not_understood_is_refused_and_named(text, says, tmp_path):
    (tmp_path / "m.toml").write_text(text, "utf-8")

    with pytest.raises(WrongUsage, match=says) as refused:
        load(tmp_path / "m.toml")

    assert "m.toml" in refused.value.where
    assert refused.value.to_do


# text of a mapping, the line that is wrong in it (counted from 1), and what the sentence says
LINES = [
    (HEAD + '"C" = "colour"\n', 5, "'colour'"),
    (HEAD + '\n# how tall\n[units]\nheight_mm = "parsec"\n', 8, "'parsec'"),
    (HEAD + 'On = "condition_remark_on"\n[order]\nOn = "dd.mm"\n', 7, "'dd.mm'"),
    (HEAD + 'How = "technique"\n[words.technique]\n1 = "cloisonné"\n2 = "pottery"\n', 8, "'pottery'"),
    (HEAD + 'How = "technique"\n[words]\nHow = {1 = "pottery"}\n', 7, "'pottery'"),
    (HEAD + '[same]\ntitle = """\nBox\n"""\ntechnique = "pottery"\n', 9, "'pottery'"),
    (HEAD + 'Wide = [\n"width_mm",\n]\n', 5, "columns.Wide"),
    ('record = "thing"\n[columns]\n', 1, "'thing'"),
    ('[sheet.A]\nrecord = "object"\n[sheet.A.columns]\nN = "object_id"\nC = "colour"\n', 5, "'colour'"),
    ('[sheet."A.b"]\nrecord = "object"\n[sheet."A.b".columns]\nC = "title"\n', 3, "'object_id'"),
    ((HEAD + '[units]\nheight_mm = "parsec"\n').replace("\n", "\r\n"), 6, "'parsec'"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "line", "says"), LINES)
def test_a_refusal_names_the_line_of_the_mapping(text, line, says, tmp_path):
    (tmp_path / "m.toml").write_bytes(text.encode())

    with pytest.raises(WrongUsage, match=says) as refused:
        load(tmp_path / "m.toml")

    assert f"m.toml, line {line}" in refused.value.where


def test_what_is_no_readable_file_is_refused_at_once(tmp_path):
    os.mkfifo(tmp_path / "pipe.toml")
    (tmp_path / "latin.toml").write_bytes(b'record = "objet d\xe9cor\xe9"')
    for name in ("pipe.toml", "latin.toml", "none.toml", ""):
        with pytest.raises(WrongUsage):
            load(tmp_path / name)


def test_an_encoding_may_be_stated(write_csv, tmp_path, judge):
    (tmp_path / "m.toml").write_text(
        'record = "object"\nencoding = "koi8-r"\n[columns]\n"N" = "object_id"\n"T" = "title"\n', "utf-8"
    )

    judged = judge(write_csv("o.csv", "N,T", "V.1,Ларец", encoding="koi8-r"), mapping=tmp_path / "m.toml")

    assert judged.rows("object")["title"].to_list() == ["Ларец"]
    assert "encoding_guessed" not in judged.answer.problems["rule"].to_list()


def test_a_mapping_none_of_whose_headings_is_in_the_file_is_said(write_csv, tmp_path, answer_to):
    (tmp_path / "m.toml").write_text(HEAD, "utf-8")

    with pytest.raises(WrongUsage, match="none of its headings stands in o.csv"):
        answer_to(write_csv("o.csv", "object_id,title", "V.1,Box"), mapping=tmp_path / "m.toml")


def test_no_record_of_the_register_itself_can_be_brought_in():
    assert not {"journal", "intake_file", "delivery", "refused_row"} & set(BROUGHT_IN)
    assert "setting" in BROUGHT_IN
