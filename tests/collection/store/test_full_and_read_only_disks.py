"""A store on a full disk or a read-only medium: each is said for what it is, and nothing is lost."""

import os
import subprocess
from collections.abc import Iterator
from pathlib import Path

import polars as pl
import pytest

from collection.commands import cli
from collection.store import Change, Store, backup
from schemas.errors import (
    RegisterError,
    StoreUnwritable,
)
from tests.collection.store.filled import LINES, fill


@pytest.fixture
def disk(tmp_path: Path) -> Iterator[Path]:
    """A small disk of its own; only who may mount has one."""
    folder = tmp_path / "disk"
    folder.mkdir()
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=40m", "tmpfs", str(folder)], capture_output=True, check=False
    )
    if mounted.returncode:
        pytest.skip("no right to mount a disk")
    yield folder
    subprocess.run(["umount", str(folder)], check=True)


def command(*arguments: object) -> int:
    return cli.run([str(a) for a in arguments])


def test_a_good_store_on_a_read_only_medium_is_read_and_copied(disk, tmp_path, capsys):
    store = Store(disk / "enamels.duckdb")
    fill(store)
    subprocess.run(["mount", "-o", "remount,ro", str(disk)], check=True)
    (tmp_path / "a.csv").write_text(LINES)

    assert command("triage", "--store", store.path) == 0
    assert command("export", "--to", tmp_path / "p", "--store", store.path) == 0
    assert command("backup", "--to", tmp_path / "copies", "--store", store.path) == 0
    capsys.readouterr()
    assert command("intake", tmp_path / "a.csv", "--yes", "--store", store.path) == StoreUnwritable.code
    assert "the medium is read-only" in capsys.readouterr().err


def test_an_older_store_on_a_read_only_medium_is_read_as_migrated(disk, old_store):
    store = Store(disk / "enamels.duckdb")
    store.path.write_bytes(old_store.read_bytes())
    before = store.path.read_bytes()
    subprocess.run(["mount", "-o", "remount,ro", str(disk)], check=True)

    assert "treat_from" in store.read()["setting"]["name"].to_list()
    with pytest.raises(StoreUnwritable):
        fill(store)
    assert store.path.read_bytes() == before


def test_a_full_disk_is_said_and_the_next_command_needs_no_manual_step(disk, tmp_path, capsys):
    store = Store(disk / "enamels.duckdb")
    filler = disk / "filler"
    (tmp_path / "a.csv").write_text(LINES)
    for room in (0, 4_096, 8_192, 12_288, 300_000, 900_000):
        filler.write_bytes(b"")
        free = os.statvfs(disk)
        filler.write_bytes(b"x" * (free.f_bavail * free.f_frsize - room))

        code = command("intake", tmp_path / "a.csv", "--yes", "--store", store.path)

        assert code in (0, StoreUnwritable.code)
        words = capsys.readouterr().err
        assert code == 0 or "the disk is full" in words
        filler.unlink()
        assert command("intake", tmp_path / "a.csv", "--yes", "--store", store.path) == 0
        capsys.readouterr()
        store.path.unlink()


def test_a_full_disk_in_a_store_that_is_there_loses_nothing(disk, tmp_path):
    store = Store(disk / "enamels.duckdb")
    fill(store)
    free = os.statvfs(disk)
    (disk / "filler").write_bytes(b"x" * (free.f_bavail * free.f_frsize))
    many = pl.DataFrame(
        {"object_id": [f"N.{i}" for i in range(10_000)], "title": [f"title {i * 7919}" for i in range(10_000)]}
    )

    with pytest.raises(StoreUnwritable, match="the disk is full"):
        store.write(Change({"object": many}), by="ada")
    (disk / "filler").unlink()

    assert store.read()["object"]["object_id"].to_list() == ["V.1"]
    assert store.read_journal().height == 1


def test_a_copy_on_a_full_disk_is_a_sentence_and_leaves_nothing(disk, store):
    fill(store)
    (disk / "copies").mkdir()
    free = os.statvfs(disk)
    (disk / "filler").write_bytes(b"x" * (free.f_bavail * free.f_frsize - 100_000))

    with pytest.raises(RegisterError, match="the disk is full"):
        backup.make(store, disk / "copies", at=store.now())
    assert list((disk / "copies").iterdir()) == []
