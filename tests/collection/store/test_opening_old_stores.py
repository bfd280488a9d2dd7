"""A store of an older schema that is opened, backed up, restored or killed on the way is the old one or the new one, and copied before."""

import shutil
from collections.abc import Callable

import polars as pl
import pytest

from collection.store import Change, Store, backup, tables
from collection.store.connection import connection
from collection.store.migrations import v0002_deliveries
from collection.store.restore import restore
from tests.collection.store.old_stores import NOON, rows_of


@pytest.mark.parametrize("open_it", [Store.read, lambda s: s.write(Change({}), by="ada")], ids=["read", "write"])
def test_a_store_is_copied_as_it_was_before_it_is_migrated(open_it, old, old_rows):
    open_it(old)

    copy = old.path.with_name("old.schema-1-20260501-120000-000000.duckdb")
    assert rows_of(copy) == old_rows
    assert old_rows["about"] == [{"schema_version": 1}]
    assert rows_of(old.path)["about"][0]["schema_version"] == tables.SCHEMA_VERSION


def test_a_migrated_store_is_backed_up_restored_published_and_read_back(old, tmp_path):
    copy = backup.make(old, tmp_path / "copies", at=NOON)
    old.publish(tmp_path / "one", "csv")
    restore(old, copy.path, at=NOON)
    new = Store(tmp_path / "new.duckdb", now=lambda: NOON)
    new.import_package(tmp_path / "one")

    assert new.publish(tmp_path / "two", "csv").rows() == Store(old.path).publish(tmp_path / "three", "csv").rows()


def test_a_copy_of_an_older_schema_is_restored_and_migrated_when_it_is_read(old, tmp_path):
    copy = tmp_path / "copy.duckdb"
    shutil.copyfile(old.path, copy)
    store = Store(tmp_path / "enamels.duckdb")

    restored = restore(store, copy, at=NOON)

    assert restored.rows == sum(len(r) for n, r in rows_of(copy).items() if n != "about")
    assert "outside" in store.read()["refused_row"]["outcome"].to_list()


def test_a_migration_that_fails_leaves_the_store_as_it_was(old, old_rows, monkeypatch):
    def broken(*args: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr(v0002_deliveries, "_change_outcomes", broken)
    with pytest.raises(ZeroDivisionError):
        old.read()
    monkeypatch.undo()

    assert rows_of(old.path) == old_rows
    assert "outside" in old.read()["refused_row"]["outcome"].to_list()


def test_a_migration_that_is_killed_leaves_the_old_store_or_the_new_one(old, killed_at: Callable[..., bool]):
    before = old.path.read_bytes()
    turn, killed = 0, True
    while killed:
        turn += 1
        old.path.write_bytes(before)
        killed = killed_at("link,fsync,replace", turn, "journal", "--store", old.path)
        assert rows_of(old.path)["about"][0]["schema_version"] in (1, tables.SCHEMA_VERSION)
        assert old.read_journal().height > 0

    assert turn > 2


def test_two_that_open_an_old_store_at_once_migrate_it_once(old):
    with connection(old.path, wait_s=1, read_only=True) as con:
        assert tables.schema_version(con, "") == 1
    old.read()
    old.read()

    assert old.read_journal().filter(pl.col("changed_by") == v0002_deliveries.BY).height == 3
    assert len(list(old.path.parent.glob("old.schema-1-*"))) == 1
