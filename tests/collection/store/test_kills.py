"""Killed at every exact point of a write or a copy: all of it or nothing, and no manual step afterwards.

Restores, exports and migrations are killed where they are tested; `tests/benchmarks/bench_kills.py` kills at every
system call and at random moments.
"""

from collections.abc import Callable
from pathlib import Path

import polars as pl
import pytest

from collection.commands import cli
from collection.store import Change, Store, backup
from tests.collection.store.test_backup import objects

IN_A_WRITE = (
    "collection.store.journal.next_seq,collection.store.journal.note,collection.store.tables.put_rows,"
    "collection.store.tables.read_rows"
)


@pytest.fixture
def sheets(tmp_path: Path) -> list[Path]:
    """A catalogue, checks of it and a logger's readings: records, readings and a delivery in one intake."""
    texts = {
        "objects.csv": "object_id,title\nN.1,Box\nN.2,Jug\n",
        "checks.csv": "check_id,object_id,checked_on,look\nC.1,N.1,2026-05-01,inspection\n",
        "climate.csv": "logger_id,read_at,temperature_c,rh_percent\nL,2026-01-01T00:00:00,20,50\nL,2026-01-01T01:00:00,20,51\n",
    }
    for name, text in texts.items():
        (tmp_path / name).write_text(text, "utf-8")
    return [tmp_path / name for name in texts]


def content(store: Store) -> tuple[int, int, int, int]:
    """Objects, checks, readings and deliveries."""
    records = ("object", "condition_check", "climate_reading", "delivery")
    return tuple(store.read_record(n).height for n in records)  # type: ignore[return-value]


def journalled(store: Store) -> int:
    return store.read_journal().filter(pl.col("action") == "added", pl.col("record_name") == "object").height


def test_an_intake_killed_at_steps_of_its_write_is_all_there_or_not_at_all(
    store: Store, sheets: list[Path], killed_at: Callable[..., bool], capsys: pytest.CaptureFixture[str]
):
    store.write(Change({"object": pl.DataFrame({"object_id": ["V.1"]})}), by="ada")
    before = store.path.read_bytes()
    turn, killed = 0, True
    while killed:
        turn += 5
        store.path.write_bytes(before)
        killed = killed_at(IN_A_WRITE, turn, "intake", *sheets, "--yes", "--store", store.path)
        assert content(store) in ((1, 0, 0, 0), (3, 1, 2, 1))
        assert journalled(store) == content(store)[0]
        assert cli.run(["intake", *map(str, sheets), "--yes", "--store", str(store.path)]) == 0
        assert content(store) == (3, 1, 2, 1)

    assert turn > 6


def test_the_first_intake_killed_at_any_step_needs_no_manual_step(
    store: Store, sheets: list[Path], killed_at: Callable[..., bool], capsys: pytest.CaptureFixture[str]
):
    turn, killed = 0, True
    while killed:
        turn += 1
        store.path.unlink(missing_ok=True)
        killed = killed_at("link,fsync", turn, "intake", *sheets, "--yes", "--store", store.path)
        assert not store.exists() or content(store) in ((0, 0, 0, 0), (2, 1, 2, 1))
        assert cli.run(["intake", *map(str, sheets), "--yes", "--store", str(store.path)]) == 0
        assert content(store) == (2, 1, 2, 1)

    assert turn > 2
    backup.make(store, store.path.parent / "copies", at=store.now())
    assert not list(store.path.parent.glob(".*.part"))


def test_a_backup_killed_at_any_step_leaves_a_whole_copy_or_none_and_the_next_clears_its_drafts(
    store: Store, tmp_path: Path, killed_at: Callable[..., bool], capsys: pytest.CaptureFixture[str]
):
    store.write(Change({"object": pl.DataFrame({"object_id": ["V.1"]})}), by="ada")
    folder = tmp_path / "copies"
    turn, killed = 0, True
    while killed:
        turn += 1
        killed = killed_at("link,fsync,unlink,fchmod", turn, "backup", "--to", folder, "--store", store.path)
        assert all(objects(path) == ["V.1"] for path in folder.glob("*.duckdb"))
        assert objects(store.path) == ["V.1"]

    assert turn > 3
    assert not list(folder.glob(".*.part"))
