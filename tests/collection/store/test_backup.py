"""Copies: whole, read through, and never at the cost of another file."""

import os
import shutil
import stat
import subprocess
import sys
import textwrap
from datetime import datetime
from pathlib import Path

import duckdb
import polars as pl
import pytest

from collection.files import digest
from collection.store import Change, Store, backup
from collection.store.connection import CONFIGURATION
from collection.store.copies import contents
from schemas.errors import StoreDamaged
from tests.collection.store.conftest import copied_to

DAY = datetime(2026, 1, 1)


@pytest.fixture(scope="module")
def filled_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    store = Store(tmp_path_factory.mktemp("filled") / "enamels.duckdb")
    store.write(Change({"object": pl.DataFrame({"object_id": ["V.1", "V.2"]})}), by="ada")
    moments = [datetime(2026, 1, 1, h) for h in range(3)]
    readings = pl.DataFrame({"logger_id": ["L"] * 3, "read_at": moments, "rh_percent": [50.0, 51, 52]})
    store.write_readings([readings], "l.csv", "0" * 64, by="ada")
    return store.path


@pytest.fixture
def filled(store: Store, filled_once: Path) -> Store:
    return copied_to(store, filled_once)


def copy(store: Store, folder: Path, day: int = 1, keep: int = 7) -> backup.Copy:
    return backup.make(store, folder, keep=keep, at=DAY.replace(day=day))


def objects(path: Path) -> list[str]:
    return Store(path).read()["object"]["object_id"].to_list()


def test_a_copy_counts_every_table_climate_and_journal_too(filled, tmp_path):
    copied = copy(filled, tmp_path / "copies")

    assert copied.rows == 2 + 3 + 3  # objects, readings, journal
    assert copied.sha256 == digest(copied.path)
    assert objects(copied.path) == ["V.1", "V.2"]


def test_what_a_store_holds_is_counted_by_table_and_differs_with_any_value(filled):
    with filled.reading() as con:
        before = contents(con)
    filled.write(
        Change({"object": pl.DataFrame({"object_id": ["V.1"], "row_version": [1], "title": ["Box"]})}), by="ada"
    )
    with filled.reading() as con:
        after = contents(con)

    assert {name: rows for name, (rows, _) in before.items() if rows} == {
        "object": 2,
        "climate_reading": 3,
        "journal": 3,
    }
    assert {name for name in before if before[name] != after[name]} == {"object", "journal"}
    assert before["object"][0] == after["object"][0]


def test_the_oldest_copies_of_this_store_go(filled, tmp_path):
    for day in range(1, 5):
        copy(filled, tmp_path / "copies", day, keep=2)

    assert [p.name[8:16] for p in sorted((tmp_path / "copies").iterdir())] == ["20260103", "20260104"]


def test_no_store_is_removed_that_is_named_like_a_copy(filled, tmp_path):
    other = Store(tmp_path / "enamels-1.duckdb")
    stamped = tmp_path / "enamels-20250101-000000-000000.duckdb"
    for path in (other.path, stamped):
        Store(path).write(Change({"object": pl.DataFrame({"object_id": ["X"]})}), by="ben")

    for day in (1, 2, 3):
        copy(filled, tmp_path, day, keep=1)

    assert objects(other.path) == objects(stamped) == ["X"]


def test_copies_of_two_stores_in_one_folder_are_counted_apart(filled, tmp_path):
    loans = Store(tmp_path / "loans" / "enamels.duckdb")
    loans.write(Change({"object": pl.DataFrame({"object_id": ["L"]})}), by="ben")
    for day in range(1, 8):
        copy(loans, tmp_path / "copies", day + 10)

    copied = copy(filled, tmp_path / "copies", 1)  # the earliest name of all

    assert copied.path.exists()
    assert len(list((tmp_path / "copies").iterdir())) == 8


def test_the_new_copy_stays_though_the_clock_was_set_back(filled, tmp_path):
    for day in (10, 11, 12):
        copy(filled, tmp_path / "copies", day, keep=3)

    copied = copy(filled, tmp_path / "copies", 1, keep=2)

    assert copied.path.exists()
    assert len(list((tmp_path / "copies").iterdir())) == 2


def test_a_copy_that_somebody_works_on_is_a_store_and_stays(filled, tmp_path):
    copied = copy(filled, tmp_path / "copies", 1)
    Store(copied.path).write(Change({"object": pl.DataFrame({"object_id": ["V.3"]})}), by="ben")

    for day in (2, 3, 4):
        copy(filled, tmp_path / "copies", day, keep=1)

    assert objects(copied.path) == ["V.1", "V.2", "V.3"]


@pytest.mark.parametrize("table", ["journal", "climate_reading"])
def test_a_store_whose_journal_or_climate_cannot_be_read_is_not_copied(table, filled, tmp_path):
    rows = 20_000
    with duckdb.connect(str(filled.path), config=CONFIGURATION) as con:
        name = {"journal": "seq, row_key", "climate_reading": "read_in, logger_id"}[table]
        con.execute(
            f"INSERT INTO {table} ({name}) SELECT i + 100, hash(i)::VARCHAR || hash(i + 1)::VARCHAR FROM range({rows}) t(i)"
        )
        con.execute("CHECKPOINT")
        ids = con.sql(
            f"SELECT DISTINCT block_id FROM pragma_storage_info('{table}') WHERE segment_type = 'VARCHAR' AND block_id >= 0"
        ).fetchall()
    flip(filled.path, max(i for (i,) in ids))

    with pytest.raises(StoreDamaged, match="cannot be read"):
        copy(filled, tmp_path / "copies")
    assert list((tmp_path / "copies").iterdir()) == []


def flip(path: Path, block: int) -> None:
    """One bit in the middle of a block of 256 KiB, behind the three headers."""
    with path.open("r+b") as file:
        file.seek(3 * 4096 + block * 262_144 + 5_000)
        byte = file.read(1)
        file.seek(-1, os.SEEK_CUR)
        file.write(bytes([byte[0] ^ 1]))


def test_drafts_that_killed_backups_left_are_cleared_and_files_of_others_are_not(filled, tmp_path):
    folder = tmp_path / "copies"
    folder.mkdir()
    for name in (
        "enamels-20260101-000000-000000.part",
        ".enamels-20260101-000000-000000.duckdb.abcd1234.part",
        "notes.part",
    ):
        (folder / name).write_text("left")

    copy(filled, folder, 2)

    assert sorted(p.name for p in folder.iterdir()) == ["enamels-20260102-000000-000000.duckdb", "notes.part"]


def test_a_private_store_has_private_copies(filled, tmp_path):
    filled.path.chmod(0o600)

    assert stat.S_IMODE(copy(filled, tmp_path / "copies").path.stat().st_mode) == 0o600


def test_photographs_that_no_copy_holds_are_counted(filled, tmp_path):
    filled.write(Change({"photo": pl.DataFrame({"photo_id": ["a" * 64], "object_id": ["V.1"]})}), by="ada")

    assert copy(filled, tmp_path / "copies").photographs == 1


def test_a_store_with_a_log_is_copied_with_what_is_only_in_the_log(filled, tmp_path):
    leave_a_log(filled.path)

    assert objects(copy(filled, tmp_path / "copies").path) == ["V.1", "V.2", "late"]


def leave_a_log(path: Path) -> None:
    """A process that is killed after its commit leaves the row in the log."""
    code = f"""
        import duckdb, os
        con = duckdb.connect({str(path)!r}, config={CONFIGURATION!r})
        con.execute("INSERT INTO object (object_id) VALUES ('late')")
        os._exit(0)
    """
    subprocess.run([sys.executable, "-c", textwrap.dedent(code)], check=True)
    assert path.with_name(f"{path.name}.wal").exists()


WRITE_ON = """
    import sys, polars as pl
    from pathlib import Path
    from collection.store import Change, Store
    store = Store(Path(sys.argv[1]))
    number = 0
    while not Path(sys.argv[1] + ".stop").exists():
        number += 1
        store.write(Change({"object": pl.DataFrame({"object_id": [f"W.{number}"]})}), by="writer")
"""


def test_a_copy_made_while_others_write_is_of_one_moment(filled, tmp_path):
    writer = subprocess.Popen([sys.executable, "-c", textwrap.dedent(WRITE_ON), str(filled.path)])
    try:
        copies = [backup.make(filled, tmp_path / "copies", keep=50, at=DAY.replace(second=i)) for i in range(6)]
    finally:
        (tmp_path / "enamels.duckdb.stop").touch()
        assert writer.wait(30) == 0

    for copied in copies:
        journalled = Store(copied.path).read_journal().height
        assert copied.rows == len(objects(copied.path)) + 3 + journalled
        assert journalled == len(objects(copied.path)) + 1


def test_nobody_writes_between_counting_and_copying(filled, tmp_path, monkeypatch):
    """Closing a file drops the lock this process has on it: another process must still be refused afterwards."""
    code = f"import duckdb; duckdb.connect({str(filled.path)!r}, config={CONFIGURATION!r})"
    answers = []
    real = backup.copy_bytes

    def copy_and_ask(*args: object) -> None:
        real(*args)
        answers.append(subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False).stderr)

    monkeypatch.setattr(backup, "copy_bytes", copy_and_ask)
    copy(filled, tmp_path / "copies")

    assert "Could not set lock" in answers[0]


def test_a_copy_on_a_disk_without_links_is_made_all_the_same(filled, tmp_path, monkeypatch):
    def refused(*args: object, **kwargs: object) -> None:
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr(os, "link", refused)

    assert objects(copy(filled, tmp_path / "copies").path) == ["V.1", "V.2"]
    shutil.rmtree(tmp_path / "copies")
