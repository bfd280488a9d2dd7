"""What people read in commands, vocabularies and declarations: none of the phrases that should not be."""

import re
import tomllib
from pathlib import Path

import pytest

from collection.commands import cli
from collection.settings import as_of_day
from schemas.dictionary import dictionary
from schemas.vocabularies import folder
from tests.words import later, not_to_be_read, of_values, phrases

ROOT = Path(__file__).parents[1]
# Keys of the files of values whose texts a person reads.
READ = frozenset({"label", "definition", "words", "text", "step", "title", "noun", "plural", "because", "keep", "why",
                  "caution", "ask", "to_do", "what", "reason"})  # fmt: skip


@pytest.mark.parametrize(
    ("text", "caught"),
    [
        ("Look at these first, look closer", 0),
        ("since the last look", 1),
        ("spans 1.5 decades", 2),
        ("catalogue, dialogue", 0),
        ("A join of 1974", 0),
        ("the repair that holds has 3 logs of 2", 1),
        ("unknown flaking, seen 1986-12-31", 1),
    ],
)
def test_phrases_are_caught_and_english_is_not(text, caught):
    assert len(not_to_be_read([text])) == caught


def test_each_phrase_says_what_is_said_instead():
    assert all(instead and not pattern.search("") for pattern, instead, _ in phrases())


@pytest.mark.parametrize("path", sorted(folder().glob("*.toml")), ids=lambda p: p.name)
def test_labels_and_words_of_the_vocabularies(path):
    whole = tomllib.loads(path.read_text("utf-8"))

    assert not_to_be_read(of_values(whole, READ)) == []


def test_what_the_declarations_say_of_records_and_columns():
    records = dictionary()["records"]

    assert not_to_be_read(of_values(records, frozenset({"text", "private", "unit"}))) == []


def test_words_of_the_condition_report():
    file = "collection/documents/words.toml"
    texts = list(of_values(tomllib.loads((ROOT / file).read_text("utf-8")), frozenset()))

    assert not_to_be_read(texts, later()[file]) == []
    assert [p for p in later()[file] if not any(p.lower() in t.lower() for t in texts)] == []  # rewritten: take it out


@pytest.mark.parametrize("name", cli.COMMANDS)
def test_the_help_of_every_command(name, enamels):
    code, out, _ = enamels(name, "--help")

    assert code == 0
    assert not_to_be_read([out, *out.split("\n\n"), " ".join(out.split())]) == []


@pytest.fixture
def asked(enamels, monkeypatch, demonstration, assessed_once):
    """Run a command on the demonstration; gives all it prints."""

    def run(*arguments: str) -> str:
        monkeypatch.setenv("ENAMELS_STORE", str(demonstration.path))
        monkeypatch.setenv("COLUMNS", "4000")
        monkeypatch.setattr("collection.commands.triage.WIDEST", 4000)  # no sentence is broken over lines of a table
        code, out, err = enamels(*arguments)
        assert code == 0, err
        return re.sub(r" {2,}", "  ", f"{out}\n{err}")

    return run


@pytest.mark.parametrize(
    "arguments",
    [
        ("triage",),
        ("triage", "--json"),
        ("rates",),
        ("backtest", "--from", "2021-09-30"),
        ("journal",),
        ("deliveries",),
        ("dictionary",),
    ],
    ids=" ".join,
)
def test_what_commands_answer(asked, arguments):
    assert not_to_be_read([asked(*arguments)]) == []


def test_why_each_object_of_the_list_is_where_it_is(asked, demonstration, memory):
    """The first of each class."""
    found = memory.assess_store(demonstration, lambda c: as_of_day(None, c))
    for number in found.objects.unique("attention", keep="first", maintain_order=True)["object_id"]:
        assert not_to_be_read([asked("explain", number)]) == []


def test_what_intake_answers(enamels, write_csv, write_xlsx):
    write_csv("c.csv", "Accession No,Title,Material,Date,Remarks", "1,Bowl,enamel on copper,c. 1750,Old repair; flaking",
              "2,Jug,Porcelain,1800,", "../3,Cup,enamel on gold,soon,Sound", "1,Bowl,enamel,1751,")  # fmt: skip
    for arguments in (("--dry-run",), ("--yes",), ("--yes",)):
        _, out, err = enamels("intake", "c.csv", *arguments)
        assert not_to_be_read([" ".join(f"{out} {err}".split())]) == []
