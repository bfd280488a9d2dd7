"""Restore: whatever is at the path, the copy takes its place and what was there is put aside."""

import os
import shutil
import stat
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import polars as pl
import pytest

from collection.store import Change, Store, backup
from collection.store.restore import restore
from schemas.errors import NotFound, SourceRefused, StoreBusy, StoreDamaged, WrongUsage
from tests.collection.store.conftest import copied_to
from tests.collection.store.test_backup import leave_a_log, objects
from tests.collection.store.test_processes import HOLD, run

DAY = datetime(2026, 1, 1)


def put(store: Store, *numbers: str) -> None:
    store.write(Change({"object": pl.DataFrame({"object_id": list(numbers)})}), by="ada")


@pytest.fixture(scope="module")
def copied_once(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """A store, and a copy of it; to be copied and never written to."""
    store = Store(tmp_path_factory.mktemp("copied") / "enamels.duckdb")
    put(store, "V.1")
    copied = backup.make(store, store.path.with_name("copies"), at=DAY)
    put(store, "V.2")
    return store.path, copied.path


@pytest.fixture
def copy(store: Store, tmp_path: Path, copied_once: tuple[Path, Path]) -> Path:
    """A copy of a store that has V.1; the store then gets V.2 as well."""
    copied_to(store, copied_once[0])
    (tmp_path / "copies").mkdir()
    return Path(shutil.copyfile(copied_once[1], tmp_path / "copies" / copied_once[1].name))


def aside(store: Store) -> list[Path]:
    return sorted(store.path.parent.glob("*.replaced-*.duckdb"))


def test_the_copy_takes_the_place_of_the_store(store, copy):
    done = restore(store, copy, at=DAY)

    assert objects(store.path) == ["V.1"]
    assert done.rows == 2  # the object and its entry in the journal
    assert objects(done.aside) == ["V.1", "V.2"]


def cut(path: Path) -> None:
    os.truncate(path, path.stat().st_size // 2)


def garbage(path: Path) -> None:
    path.write_bytes(b"not a store" * 2_000)


def emptied(path: Path) -> None:
    path.write_bytes(b"")


def foreign_log(path: Path) -> None:
    other = Store(path.with_name("other.duckdb"))
    put(other, "X")
    leave_a_log(other.path)
    other.path.with_name("other.duckdb.wal").rename(path.with_name(f"{path.name}.wal"))


def of_a_later_version(path: Path) -> None:
    import duckdb

    with duckdb.connect(str(path)) as con:
        con.execute("UPDATE about SET schema_version = 99")


@pytest.mark.parametrize("damage", [cut, garbage, emptied, foreign_log, of_a_later_version])
def test_a_store_that_cannot_be_read_is_replaced_and_put_aside(damage, store, copy):
    damage(store.path)
    broken = store.path.read_bytes()

    done = restore(store, copy, at=DAY)

    assert objects(store.path) == ["V.1"]
    assert damage is foreign_log or done.aside.read_bytes() == broken
    assert not store.path.with_name(f"{store.path.name}.wal").exists()
    assert not list(store.path.parent.glob(".*.part"))


def test_two_restores_in_a_row_keep_both_stores(store, copy):
    restore(store, copy, at=DAY)
    put(store, "V.3")
    restore(store, copy, at=DAY.replace(day=2))

    assert [objects(p) for p in aside(store)] == [["V.1", "V.2"], ["V.1", "V.3"]]


def test_a_store_is_put_aside_with_what_is_only_in_its_log(store, copy):
    leave_a_log(store.path)

    done = restore(store, copy, at=DAY)

    assert objects(done.aside) == ["V.1", "V.2", "late"]
    assert objects(store.path) == ["V.1"]


def test_a_copy_with_a_log_beside_it_is_restored_with_the_log(store, copy, tmp_path):
    live = tmp_path / "live.duckdb"
    shutil.copyfile(store.path, live)
    leave_a_log(live)

    restore(store, live, at=DAY)

    assert objects(store.path) == ["V.1", "V.2", "late"]


def test_there_need_not_be_a_store(copy, tmp_path):
    new = Store(tmp_path / "elsewhere" / "new.duckdb")

    assert restore(new, copy, at=DAY).aside is None
    assert objects(new.path) == ["V.1"]


def test_a_private_store_stays_private(store, copy):
    store.path.chmod(0o600)

    restore(store, copy, at=DAY)

    assert stat.S_IMODE(store.path.stat().st_mode) == 0o600


def test_a_restored_store_is_no_copy_any_more(store, copy, tmp_path):
    restore(store, copy, at=DAY)
    shutil.move(store.path, tmp_path / "copies" / "enamels-20250101-000000-000000.duckdb")
    moved = Store(tmp_path / "copies" / "enamels-20250101-000000-000000.duckdb")
    restore(store, copy, at=DAY.replace(day=2))

    for day in (3, 4):
        backup.make(store, tmp_path / "copies", keep=1, at=DAY.replace(day=day))

    assert objects(moved.path) == ["V.1"]


@pytest.mark.parametrize("damage", [cut, garbage, foreign_log])
def test_a_damaged_copy_is_refused_by_its_name_and_the_store_stays(damage, store, copy):
    damage(copy)

    with pytest.raises(StoreDamaged, match=f"{copy.name}.*cannot be read through"):
        restore(store, copy, at=DAY)
    assert objects(store.path) == ["V.1", "V.2"]
    assert aside(store) == []


def test_what_is_no_copy_is_said(store, copy, tmp_path):
    for path, error in [(tmp_path / "none", NotFound), (tmp_path, SourceRefused), (store.path, WrongUsage)]:
        with pytest.raises(error):
            restore(store, path, at=DAY)


def test_a_store_that_another_process_holds_is_waited_for_and_not_replaced(store, copy):
    holder = run(HOLD, str(store.path))
    holder.stdout.readline()
    try:
        with pytest.raises(StoreBusy, match=str(holder.pid)):
            restore(Store(store.path, write_wait_s=0.3), copy, at=DAY)
    finally:
        holder.kill()
        holder.communicate()
    assert objects(store.path) == ["V.1", "V.2"]


def test_a_path_that_leads_to_the_store_by_a_link_stays_a_link(store, copy, tmp_path):
    linked = tmp_path / "linked.duckdb"
    linked.symlink_to(store.path)

    restore(Store(linked), copy, at=DAY)

    assert linked.is_symlink()
    assert objects(store.path) == ["V.1"]


POINTS = "link,replace,unlink"


def test_killed_at_any_call_there_is_a_whole_store_and_nothing_is_lost(
    store: Store, copy: Path, killed_at: Callable[..., bool]
):
    before = store.path.read_bytes()
    turn, killed = 0, True
    while killed:
        turn += 1
        store.path.write_bytes(before)
        killed = killed_at(POINTS, turn, "restore", copy, "--store", store.path)
        assert objects(store.path) in (["V.1"], ["V.1", "V.2"])
        if objects(store.path) == ["V.1"]:
            assert objects(aside(store)[-1]) == ["V.1", "V.2"]
        for path in aside(store):
            path.unlink()

    assert turn > 3
    restore(store, copy, at=DAY)
    assert not list(store.path.parent.glob(".*.part"))
