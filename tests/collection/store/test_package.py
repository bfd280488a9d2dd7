"""The package: written whole or not at all, over nothing that is not ours; judged when it is read back."""

import hashlib
import json
import os
import shutil
from collections.abc import Callable
from pathlib import Path

import openpyxl
import polars as pl
import pytest

from collection.store import Change, Store, workbook
from schemas.errors import OutputRefused, SourceRefused, WrongUsage
from tests.collection.store.conftest import copied_to


@pytest.fixture(scope="module")
def filled_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    store = Store(tmp_path_factory.mktemp("filled") / "enamels.duckdb")
    titles = ["Box", "=1+1", None]
    numbers = ["V.1", "V.2", "V.3"]
    store.write(Change({"object": pl.DataFrame({"object_id": numbers, "title": titles})}), by="ada")
    return store.path


@pytest.fixture
def filled(store: Store, filled_once: Path) -> Store:
    return copied_to(store, filled_once)


def files(folder: Path) -> dict[str, bytes]:
    return {p.name: p.read_bytes() for p in folder.iterdir()}


def test_an_export_over_an_earlier_one_leaves_nothing_of_it(filled, tmp_path):
    filled.publish(tmp_path / "p", "csv")
    filled.publish(tmp_path / "p", "parquet", replace=True)

    assert {p.suffix for p in (tmp_path / "p").iterdir()} == {".parquet", ".json"}
    assert [p.name for p in tmp_path.iterdir() if ".part" in p.name] == []


def test_an_earlier_export_is_replaced_only_where_that_is_asked_for(filled, tmp_path):
    filled.publish(tmp_path / "p", "csv")
    before = files(tmp_path / "p")

    with pytest.raises(OutputRefused, match="--replace"):
        filled.publish(tmp_path / "p", "csv")
    assert files(tmp_path / "p") == before


def own_file(folder: Path) -> None:
    (folder / "object.csv").write_text("mine")


def own_beside(folder: Path) -> None:
    (folder / "notes.txt").write_text("mine")


def no_descriptor(folder: Path) -> None:
    (folder / "datapackage.json").unlink()


def pipe_for_descriptor(folder: Path) -> None:
    no_descriptor(folder)
    os.mkfifo(folder / "datapackage.json")


@pytest.mark.parametrize("touch", [own_file, own_beside, no_descriptor, pipe_for_descriptor])
def test_a_folder_with_a_file_of_somebody_else_or_a_changed_one_is_left_alone(touch, filled, tmp_path):
    filled.publish(tmp_path / "p", "csv")
    touch(tmp_path / "p")
    names = {p.name for p in (tmp_path / "p").iterdir()}

    with pytest.raises(OutputRefused, match="no export wrote, or that were changed"):
        filled.publish(tmp_path / "p", "csv", replace=True)
    assert {p.name for p in (tmp_path / "p").iterdir()} == names


def test_no_export_goes_onto_a_file(filled, tmp_path):
    with pytest.raises(OutputRefused, match="a file of this name"):
        filled.publish(filled.path, "csv", replace=True)
    assert filled.read()["object"].height == 3


def test_an_empty_folder_is_taken_and_keeps_its_mode(filled, tmp_path):
    (tmp_path / "p").mkdir(mode=0o700)

    filled.publish(tmp_path / "p", "csv")

    assert (tmp_path / "p").stat().st_mode & 0o777 == 0o700


def test_killed_at_any_call_the_folder_holds_the_old_package_or_the_new_one_or_none(
    filled: Store, tmp_path: Path, killed_at: Callable[..., bool]
):
    filled.publish(tmp_path / "old", "csv")
    old = files(tmp_path / "old")
    filled.write(Change({"object": pl.DataFrame({"object_id": ["V.4"]})}), by="ada")
    filled.publish(tmp_path / "new", "csv")
    new = files(tmp_path / "new")
    folder = tmp_path / "p"
    turn, killed = 0, True
    while killed:
        turn += 1
        shutil.rmtree(folder, ignore_errors=True)
        shutil.copytree(tmp_path / "old", folder)
        killed = killed_at("rename,fsync,rmdir", turn, "export", "--to", folder, "--replace", "--store", filled.path)
        assert not folder.exists() or files(folder) in (old, new)
        filled.publish(folder, "csv", replace=True)
        assert files(folder) == new

    assert turn > 3
    assert [p.name for p in tmp_path.iterdir() if ".part" in p.name] == []


def tampered(folder: Path, name: str, change: Callable[[str], str]) -> Path:
    """A package whose descriptor agrees with a file that somebody wrote."""
    path = folder / f"{name}.csv"
    path.write_text(change(path.read_text("utf-8")), "utf-8", newline="")
    descriptor = folder / "datapackage.json"
    package = json.loads(descriptor.read_text("utf-8"))
    for resource in package["resources"]:
        if resource["name"] == name:
            resource["hash"] = f"sha256:{hashlib.sha256(path.read_bytes()).hexdigest()}"
    descriptor.write_text(json.dumps(package), "utf-8")
    return folder


def without_line(text: str) -> str:
    lines = text.splitlines(keepends=True)
    return "".join([*lines[:2], *lines[3:]])


CHANGES = {
    "a row too long": ("object", lambda t: t.replace("V.1,", "V.1,x,", 1)),
    "a row too short": ("object", lambda t: f"{t}V.9,short\n"),
    "a bell in a number": ("object", lambda t: t.replace("V.1,", "V\a.1,", 1)),
    "a number as a path": ("object", lambda t: t.replace("V.1,", "../../V,", 1)),
    "a number twice": ("object", lambda t: t.replace("V.2,", "V.1,", 1)),
    "no number": ("object", lambda t: t.replace("V.1,", ",", 1)),
    "a column nobody knows": ("object", lambda t: t.replace("title", "titel", 1)),
    "a gap in the journal": ("journal", without_line),
    "a change twice in the journal": ("journal", lambda t: t.replace("\n2,", "\n1,", 1)),
    "a number that is none": ("journal", lambda t: t.replace("\n2,", "\ntwo,", 1)),
}


@pytest.mark.parametrize("change", CHANGES)
def test_a_package_read_back_is_judged_like_any_file(change, filled, tmp_path):
    filled.publish(tmp_path / "p", "csv")
    name, how = CHANGES[change]
    new = Store(tmp_path / "new.duckdb")

    with pytest.raises(SourceRefused):
        new.import_package(tampered(tmp_path / "p", name, how))
    assert not new.exists()


def test_a_package_is_judged_and_counted_without_writing(filled, tmp_path):
    filled.publish(tmp_path / "p", "csv")
    new = Store(tmp_path / "new.duckdb")

    assert new.import_package(tmp_path / "p", dry_run=True).added == {"object": 3}
    assert not new.exists()
    with pytest.raises(WrongUsage, match="not empty"):
        filled.import_package(tmp_path / "p", dry_run=True)


@pytest.mark.parametrize("name", ["datapackage.json", "object.csv"])
def test_a_pipe_in_a_package_is_refused_and_not_waited_for(name, filled, tmp_path):
    filled.publish(tmp_path / "p", "csv")
    (tmp_path / "p" / name).unlink()
    os.mkfifo(tmp_path / "p" / name)

    with pytest.raises(SourceRefused):
        Store(tmp_path / "new.duckdb").import_package(tmp_path / "p")


@pytest.mark.parametrize("text", ["[]", '{"resources": 1}', '{"resources": [{"name": "nothing"}]}', "\x00", "{"])
def test_a_descriptor_that_is_none_is_a_sentence(text, tmp_path):
    (tmp_path / "datapackage.json").write_text(text)

    with pytest.raises(SourceRefused):
        Store(tmp_path / "new.duckdb").import_package(tmp_path)


def cells(path: Path, sheet: str) -> list[tuple[object, ...]]:
    return list(openpyxl.load_workbook(path)[sheet].iter_rows(values_only=True))


def test_the_workbook_has_a_sheet_a_record_and_one_that_lists_them(filled, tmp_path):
    listed = filled.publish_workbook(tmp_path / "all.xlsx")

    book = openpyxl.load_workbook(tmp_path / "all.xlsx")
    assert book.sheetnames == ["Records", "object", "journal"]
    assert listed.select("record", "rows").rows() == [("object", 3), ("journal", 3)]
    assert [row[0] for row in cells(tmp_path / "all.xlsx", "Records")] == ["Sheet", "object", "journal"]
    assert [row[2] for row in cells(tmp_path / "all.xlsx", "object")] == ["title", "Box", "=1+1", None]
    assert book["object"]["C3"].data_type == "s"


def test_rows_beyond_what_a_sheet_holds_are_said(filled, tmp_path, monkeypatch):
    monkeypatch.setattr(workbook, "MOST_ROWS", 2)

    listed = filled.publish_workbook(tmp_path / "all.xlsx")

    assert listed["left_out"].to_list() == [1, 1]
    assert "the last 1 of 3 rows do not fit" in cells(tmp_path / "all.xlsx", "Records")[1][3]


def test_text_longer_than_a_cell_is_cut_and_that_is_said(store, tmp_path):
    long = pl.DataFrame({"sha256": ["0" * 64], "name": ["a.csv"], "mapping": ["x" * 40_000]})
    store.write(Change({"intake_file": long}), by="ada")

    listed = store.publish_workbook(tmp_path / "all.xlsx")

    assert listed.filter(record="intake_file")["cut"].to_list() == [1]


def test_a_workbook_of_ours_may_be_replaced_and_no_other_file(filled, tmp_path):
    path = tmp_path / "all.xlsx"
    filled.publish_workbook(path)
    filled.publish_workbook(path, replace=True)
    with pytest.raises(OutputRefused):
        filled.publish_workbook(path)
    path.write_text("mine")
    with pytest.raises(OutputRefused):
        filled.publish_workbook(path, replace=True)
    with pytest.raises(OutputRefused, match="the store"):
        filled.publish_workbook(filled.path, replace=True)
    assert path.read_text() == "mine"
