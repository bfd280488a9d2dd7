"""Files as they came in lie beside the store by content hash, are checked, copied and brought back."""

import shutil
from datetime import datetime

import pytest

from collection.files import digest
from collection.store import Store, backup, originals
from collection.store.restore import restore
from schemas.errors import SourceRefused, StoreUnwritable

AT = datetime(2026, 11, 26, 12)


@pytest.fixture
def came_in(store, bring_in, write_csv):
    path = write_csv("catalogue.csv", "object_id,title", "A,Box")
    bring_in(path)
    return path


def states(store):
    return originals.state(store.path, store.read_record("intake_file")).select("name", "fate").rows()


def test_the_bytes_are_those_that_came_in_and_the_file_outlives_its_source(store, came_in):
    written = came_in.read_bytes()
    came_in.unlink()

    (sha256,) = store.read()["intake_file"]["sha256"]
    assert originals.find(store.path, sha256).read_bytes() == written
    assert states(store) == [("catalogue.csv", "whole")]


def test_a_file_that_is_gone_or_no_longer_the_same_is_told_apart(store, came_in):
    kept = originals.find(store.path, digest(came_in))
    kept.write_bytes(b"object_id,title\nA,Vase\n")
    assert states(store) == [("catalogue.csv", "changed")]

    kept.unlink()
    assert states(store) == [("catalogue.csv", "missing")]


def test_a_file_larger_than_the_limit_is_not_copied_and_it_is_said(store, bring_in, write_csv, monkeypatch):
    monkeypatch.setattr(originals, "MOST_COPIED_BYTES", 10)
    answer = bring_in(write_csv("catalogue.csv", "object_id,title", "A,Box"))

    assert answer.written.added["object"] == 1
    assert answer.not_copied[0].startswith("catalogue.csv: not copied beside the store (21 bytes, at most 10)")
    assert states(store) == [("catalogue.csv", "missing")]


def test_a_file_changed_since_it_was_read_is_refused(tmp_path, came_in, store):
    with pytest.raises(SourceRefused, match="changed while it was read"):
        originals.keep(store.path, came_in, "0" * 64)
    assert [p.name for p in originals.folder_of(store.path).iterdir()] == [f"{digest(came_in)}.csv"]


def test_where_it_cannot_be_put_nothing_is_written_and_it_is_said(store, bring_in, write_csv):
    originals.folder_of(store.path).write_text("in the way")

    with pytest.raises(StoreUnwritable, match="cannot be copied beside it: a file is where a folder should be"):
        bring_in(write_csv("catalogue.csv", "object_id,title", "A,Box"))
    assert not store.exists() or store.read()["object"].is_empty()


def test_a_dry_run_copies_nothing(store, bring_in, write_csv):
    bring_in(write_csv("catalogue.csv", "object_id,title", "A,Box"), dry_run=True)

    assert not originals.folder_of(store.path).exists()


def test_a_copy_has_them_beside_it_and_a_restored_store_too(store, came_in, tmp_path):
    copy = backup.make(store, tmp_path / "copies", at=AT)
    elsewhere = Store(tmp_path / "elsewhere" / "own.duckdb")

    restore(elsewhere, copy.path, at=AT)

    assert copy.originals["fate"].to_list() == ["whole"]
    assert states(elsewhere) == [("catalogue.csv", "whole")]


def test_what_is_no_longer_the_same_goes_into_no_copy(store, came_in, tmp_path):
    originals.find(store.path, digest(came_in)).write_text("other")
    copy = backup.make(store, tmp_path / "copies", at=AT)

    assert copy.originals["fate"].to_list() == ["changed"]
    assert not originals.folder_of(tmp_path / "copies" / store.path.name).exists()


def test_the_answer_of_a_backup_counts_them(enamels, write_csv, tmp_path):
    for name in "AB":
        enamels("intake", str(write_csv(f"{name}.csv", "object_id,title", f"{name},Box")), "--yes")
    shutil.rmtree(tmp_path / "enamels.duckdb.files" / "nothing", ignore_errors=True)
    originals.find(tmp_path / "enamels.duckdb", digest(tmp_path / "A.csv")).unlink()
    originals.find(tmp_path / "enamels.duckdb", digest(tmp_path / "B.csv")).write_text("other")
    code, words, _ = enamels("backup")

    assert code == 0
    assert "Of 2 files that came in 1 are not beside the store" in words
    assert "No longer what came in, and not copied: B.csv." in words
