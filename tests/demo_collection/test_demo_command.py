"""`enamels demo` in a folder that holds a demonstration, whole or broken off, or anything else."""

import json
import shutil

import duckdb
import pytest

from collection.commands import cli
from collection.intake import pipeline as way_in
from collection.store import Store
from demo_collection import manifest
from schemas.errors import WrongUsage


@pytest.fixture
def folder(demonstration, tmp_path):
    """A folder with the whole demonstration."""
    made = tmp_path / "enamels-demo"
    made.mkdir()
    shutil.copyfile(demonstration.path, made / "enamels.duckdb")
    return made


@pytest.fixture
def demo(folder, capsys):
    """Run the command on the folder; gives the code and what it answered."""

    def run():
        code = cli.run(["demo", "--no-open", "--json", "--folder", str(folder)])
        return code, json.loads(capsys.readouterr().out)

    return run


def test_it_can_be_run_again_after_a_copy_was_made_into_its_folder(demo, folder, capsys):
    first = demo()
    assert cli.run(["backup", "--store", str(folder / "enamels.duckdb")]) == 0
    capsys.readouterr()

    assert first[0] == 0
    assert demo() == first


def test_a_whole_one_is_not_brought_in_again(demo, monkeypatch):
    for brings_in in ("collection.intake.pipeline.intake", "collection.store.Store.write_readings"):
        monkeypatch.setattr(brings_in, lambda *_, **__: pytest.fail("a file was brought in again"))

    assert demo()[0] == 0


def test_one_that_lacks_a_file_is_made_up_to_the_end(demo, folder, monkeypatch):
    store, last = Store(folder / "enamels.duckdb"), manifest.DELIVERIES[-1].paths
    whole, real, opened = store.read()["object"].height, way_in.open_files, []
    monkeypatch.setattr(way_in, "open_files", lambda paths, *more: opened.append(paths) or real(paths, *more))
    store.undo(by="tester")
    assert not {p.name for p in last} & set(store.read_record("intake_file")["name"])

    assert demo()[0] == 0
    assert opened == [last]
    assert {p.name for p in last} <= set(store.read_record("intake_file")["name"])
    assert store.read()["object"].height == whole


def test_one_whose_readings_were_broken_off_is_made_up_to_the_end(demo, folder, demonstration):
    missing = manifest.climate_digest(manifest.CLIMATE_FILES[-1])
    with duckdb.connect(str(folder / "enamels.duckdb")) as opened:
        whole = opened.execute("SELECT count(*) FROM climate_reading").fetchone()
        (entry,) = opened.execute("SELECT seq FROM journal WHERE contains(row_key, ?)", [missing]).fetchone()
        opened.execute("DELETE FROM climate_reading WHERE read_in = ?", [entry])
        opened.execute("DELETE FROM journal WHERE seq = ?", [entry])
        assert opened.execute("SELECT count(*) FROM climate_reading").fetchone() < whole

    assert demo()[0] == 0
    with duckdb.connect(str(folder / "enamels.duckdb")) as opened:
        assert opened.execute("SELECT count(*) FROM climate_reading").fetchone() == whole


def test_a_folder_with_anything_else_in_it_is_left_as_it_was(demo, folder):
    (folder / "letters.txt").write_text("1912")

    code, answer = demo()

    assert code == WrongUsage.code
    assert "--folder" in answer["error"]["to_do"]
    assert sorted(p.name for p in folder.iterdir()) == ["enamels.duckdb", "letters.txt"]
