"""Commands of the store: copies, exports, the journal and deliveries, in words, as one document, with exit codes."""

import json
from pathlib import Path

import polars as pl
import pytest

from collection.commands import cli, undo
from collection.store import Change, Store
from collection.store.change import DeliveryNote
from schemas.errors import NotFound, OutputRefused, RegisterError, SourceRefused, StoreUnusable, WrongUsage
from tests.collection.store.conftest import copied_to


@pytest.fixture
def enamels(store, capsys, monkeypatch, tmp_path):
    """Run a command on the store; gives code, standard output and standard error."""
    monkeypatch.chdir(tmp_path)
    group = cli.enamels
    for command in (undo.deliveries, undo.undo):
        if command.name not in group.commands:
            monkeypatch.setitem(group.commands, command.name, command)

    def run(*arguments: object) -> tuple[int, str, str]:
        code = cli.run([*map(str, arguments), "--store", str(store.path)])
        printed = capsys.readouterr()
        return code, printed.out, printed.err

    return run


@pytest.fixture(scope="module")
def filled_once(tmp_path_factory):
    store = Store(tmp_path_factory.mktemp("filled") / "enamels.duckdb")
    for number in (1, 2):
        rows = pl.DataFrame({"object_id": [f"V.{number}"], "title": ["Box"]})
        note = DeliveryNote([f"{number}.csv"])
        store.write(Change({"object": rows}, from_file=True, delivery=note), by="ada")
    return store.path


@pytest.fixture
def filled(enamels, store, filled_once):
    copied_to(store, filled_once)
    return enamels


def test_the_last_delivery_is_listed_and_undone(filled, store):
    code, words, _ = filled("deliveries")
    assert code == 0
    assert words.splitlines()[1].endswith("ada: 2.csv: object: 1 new")

    assert json.loads(filled("deliveries", "--json")[1])["deliveries"][0]["made_on"] == f"{store.now():%Y-%m-%d}"
    code, words, _ = filled("undo", "--by", "ben")
    assert (code, words) == (0, "D2 is undone: left the register: 1 object; as before again: no row.\n")
    assert "(undone on" in filled("deliveries")[1].splitlines()[1]
    assert filled("deliveries", "--json")[0] == 0
    assert store.read()["object"]["object_id"].to_list() == ["V.1"]


def test_deliveries_as_one_document(filled):
    listed = json.loads(filled("deliveries", "--json")[1])["deliveries"]

    assert [(d["delivery_id"], d["files"], d["made_by"]) for d in listed] == [
        ("D1", ["1.csv"], "ada"),
        ("D2", ["2.csv"], "ada"),
    ]
    assert listed[0]["counts"] == {"object": {"new": 1, "changed": 0, "unchanged": 0}}


def test_an_undo_that_cannot_be_names_who_stands_in_the_way(filled, store):
    by_hand = pl.DataFrame({"object_id": ["V.2"], "row_version": [1], "title": ["By hand"]})
    store.write(Change({"object": by_hand}), by="cleo")

    code, words, _ = filled("undo")
    document = json.loads(filled("undo", "--json")[1])

    assert code == SourceRefused.code
    assert "was not undone" in words
    assert 'object {"object_id":"V.2"}: cleo' in words
    assert document["standing"][0]["changed_by"] == "cleo"
    assert filled("undo", "D7")[0] == NotFound.code


def test_a_store_without_deliveries_says_so(enamels, store):
    assert enamels("deliveries")[0] == StoreUnusable.code
    store.write(Change({"object": pl.DataFrame({"object_id": ["V.1"]})}), by="ada")
    assert enamels("deliveries")[1] == "Nothing has come in yet.\n"
    assert enamels("undo")[0] == NotFound.code


def test_an_unknown_record_of_the_journal_is_wrong_usage(filled):
    code, _, words = filled("journal", "--record", "nonsense")

    assert code == WrongUsage.code
    assert "no record 'nonsense'" in words
    assert json.loads(filled("journal", "--last", 1, "--json")[1])["of"] == 4


def test_a_copy_is_made_and_put_back_and_the_store_before_is_named(filled, store, tmp_path):
    copied = json.loads(filled("backup", "--json")[1])
    restored = json.loads(filled("restore", copied["copy"], "--json")[1])

    assert Path(copied["copy"]).parent.name == "enamels-copies"
    assert copied["rows"] == restored["rows"] == 8
    assert Path(restored["aside"]).exists()


def test_photographs_that_a_copy_does_not_hold_are_said(filled, store):
    store.write(Change({"photo": pl.DataFrame({"photo_id": ["a" * 64], "object_id": ["V.1"]})}), by="ada")

    assert "not in this copy: copy their folder as well" in " ".join(filled("backup")[1].split())


def test_an_export_is_replaced_only_where_that_is_said(filled):
    assert filled("export", "--to", "p")[0] == 0
    assert filled("export", "--to", "p")[0] == OutputRefused.code
    assert filled("export", "--to", "p", "--format", "parquet", "--replace")[0] == 0


def test_an_export_as_a_workbook(filled, tmp_path):
    assert filled("export", "--format", "xlsx", "--to", "all")[0] == WrongUsage.code
    code, words, _ = filled("export", "--format", "xlsx", "--to", "all.xlsx")
    assert code == 0
    assert "object: 2 rows" in words
    assert filled("export", "--format", "xlsx", "--to", "all.xlsx")[0] == OutputRefused.code
    assert filled("export", "--format", "xlsx", "--to", "all.xlsx", "--replace")[0] == 0


OUTPUTS = ["/dev/full", "/dev/null/x", "/proc/nope/p", "n" * 300, "a.csv", "a.csv/p"]


@pytest.mark.parametrize("path", OUTPUTS, ids=lambda p: p[:12])
@pytest.mark.parametrize("command", ["export", "backup", "export --format xlsx"])
def test_an_output_that_cannot_be_written_is_a_sentence(command, path, filled, tmp_path):
    (tmp_path / "a.csv").write_text("mine")
    if command.endswith("xlsx") and path not in ("/dev/full", "a.csv"):
        path = f"{path}.xlsx"

    code, _, words = filled(*command.split(), "--to", path)

    assert code == WrongUsage.code, words
    assert (tmp_path / "a.csv").read_text() == "mine"


def test_no_command_of_the_store_ends_in_a_bug_where_there_is_no_store(enamels):
    for command in ("backup", "deliveries", "undo", "journal", "export --to p"):
        code, _, words = enamels(*command.split())
        assert code == StoreUnusable.code
        assert code != RegisterError.code
        assert "no store here yet" in words
