"""A damaged, locked or foreign store is said for what it is, whatever its path is called."""

import os
import sqlite3
import subprocess
import sys
import textwrap
import time
from pathlib import Path

import duckdb
import polars as pl
import pytest

from collection.store import Store
from collection.store.connection import CONFIGURATION
from schemas.errors import (
    RegisterError,
    StoreBusy,
    StoreDamaged,
    StoreEmpty,
    StoreTooNew,
    StoreUnusable,
)
from tests.collection.store.conftest import copied_to
from tests.collection.store.filled import LINES, fill
from tests.collection.store.test_processes import HOLD, run


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A good store, to be copied."""
    store = Store(tmp_path_factory.mktemp("whole") / "enamels.duckdb")
    fill(store)
    return store.path


@pytest.fixture
def good(store: Store, whole: Path) -> Store:
    """A good store, to be broken."""
    return copied_to(store, whole)


@pytest.fixture
def clocks(tmp_path: Path) -> Path:
    """A folder whose name holds a word of DuckDB's messages."""
    folder = tmp_path / "clocks version number lock"
    folder.mkdir()
    return folder / "enamels.duckdb"


def test_a_damaged_store_in_a_folder_called_clocks_is_not_said_to_be_held(clocks):
    clocks.write_bytes(b"x" * 90_000)
    started = time.monotonic()

    with pytest.raises(StoreDamaged, match="not an Enamel Register store"):
        Store(clocks).read()
    assert time.monotonic() - started < 2


def test_a_store_cut_short_in_such_a_folder_is_damaged_and_not_too_new(clocks, whole):
    copied_to(Store(clocks), whole)
    os.truncate(clocks, 400_000)

    with pytest.raises(StoreDamaged, match="cannot be read"):
        Store(clocks).read()


def test_a_held_store_in_such_a_folder_is_said_to_be_held(clocks, whole):
    copied_to(Store(clocks), whole)
    holder = run(HOLD, str(clocks))
    holder.stdout.readline()
    try:
        with pytest.raises(StoreBusy, match=f"process {holder.pid}"):
            Store(clocks, read_wait_s=0.2).read()
    finally:
        holder.kill()
        holder.communicate()


def test_the_command_that_holds_a_store_is_named(good, tmp_path):
    script = tmp_path / "enamels"
    script.write_text(textwrap.dedent(HOLD).replace("sys.argv[1]", "sys.argv[2]"))
    holder = subprocess.Popen([sys.executable, str(script), "intake", str(good.path)], stdout=subprocess.PIPE)
    holder.stdout.readline()
    try:
        with pytest.raises(StoreBusy, match=r"\(enamels intake\)"):
            Store(good.path, read_wait_s=0.2).read()
    finally:
        holder.kill()
        holder.communicate()


@pytest.mark.parametrize("size", [0, 1, 4096, 8192, 12_287])
@pytest.mark.parametrize("begun", ["zeros", "headers"])
def test_a_file_left_by_a_kill_of_the_first_write_needs_no_manual_step(begun, size, store, whole):
    store.path.write_bytes(b"\0" * size if begun == "zeros" else whole.read_bytes()[:size].ljust(size, b"\0"))
    if begun == "headers" and size == 1:
        return  # one byte of a checksum may be anything: it is not ours to overwrite

    with pytest.raises(StoreEmpty, match="no store here yet"):
        store.read()
    fill(store)

    assert store.read()["object"]["object_id"].to_list() == ["V.1"]


def test_a_small_file_of_somebody_else_is_not_taken_for_one_nothing_was_written_to(store):
    store.path.write_text("Dear colleague")

    with pytest.raises(StoreDamaged):
        fill(store)
    assert store.path.read_text() == "Dear colleague"


def test_a_database_of_sqlite_is_refused_without_asking_anybody(store):
    with sqlite3.connect(store.path) as con:
        con.execute("CREATE TABLE object (object_id TEXT)")
    con.close()

    with pytest.raises(StoreDamaged, match="not an Enamel Register store"):
        store.read()


def test_a_view_in_the_place_of_a_table_is_not_followed(good, tmp_path):
    secret = tmp_path / "secret.csv"
    secret.write_text("person_id\nfrom another file\n")
    with duckdb.connect(str(good.path), config={"storage_compatibility_version": "v1.4.0"}) as con:
        con.execute("DROP TABLE person")
        con.execute(f"CREATE VIEW person AS SELECT * FROM read_csv('{secret}')")

    with pytest.raises(StoreDamaged, match="the table person is missing"):
        good.read()
    with pytest.raises(StoreDamaged):
        good.publish(tmp_path / "p", "csv")


def test_no_statement_reaches_another_file(good, tmp_path):
    (tmp_path / "secret.csv").write_text("a\n1\n")
    with good.reading() as con:
        for statement in ("FROM read_csv('{0}')", "COPY object TO '{0}'", "ATTACH '{0}'"):
            with pytest.raises(duckdb.PermissionException):
                con.execute(statement.format(tmp_path / "secret.csv"))
        settings = dict(con.sql("SELECT name, value FROM duckdb_settings()").fetchall())

    assert settings["autoinstall_known_extensions"] == settings["autoload_known_extensions"] == "false"
    assert CONFIGURATION["enable_external_access"] is False


def test_a_store_that_lacks_a_column_is_said_to_lack_it(good):
    with duckdb.connect(str(good.path), config={"storage_compatibility_version": "v1.4.0"}) as con:
        con.execute("ALTER TABLE object DROP COLUMN title")

    with pytest.raises(StoreDamaged, match="object lacks the column title"):
        good.read()


def damaged(path: Path, where: int) -> bytes:
    data = bytearray(path.read_bytes())
    data[where] ^= 4
    return bytes(data)


def outcome(store: Store, before: pl.DataFrame) -> object:
    """What reading gives: the same rows, others, or an error of this class."""
    try:
        return "same" if store.read()["object"].equals(before) else "other"
    except StoreUnusable as error:
        return type(error)


def test_a_store_with_one_bit_changed_anywhere_reads_as_before_or_is_said_to_be_damaged(store, tmp_path):
    for first in range(0, 20, 4):
        fill(store, *(f"V.{number}" for number in range(first, first + 4)))
    before = store.read()["object"]
    size = store.path.stat().st_size
    other = Store(tmp_path / "other.duckdb")
    outcomes = []

    for where in [8, 20, 100, 4_100, 8_200, *range(12_300, size, size // 12)]:
        other.path.write_bytes(damaged(store.path, where))
        outcomes.append(outcome(other, before))

    assert set(outcomes) <= {"same", StoreDamaged, StoreEmpty, StoreTooNew}
    assert {"same", StoreDamaged} <= set(outcomes)


def test_a_log_with_one_bit_changed_is_no_fault_of_the_register(good):
    store_before = good.read()["object"]
    code = f"""
        import duckdb, os
        con = duckdb.connect({str(good.path)!r}, config={CONFIGURATION!r})
        con.execute("INSERT INTO object (object_id) SELECT 'V.' || i FROM range(2, 500) t(i)")
        os._exit(0)
    """
    subprocess.run([sys.executable, "-c", textwrap.dedent(code)], check=True)
    log = good.path.with_name(f"{good.path.name}.wal")
    log.write_bytes(damaged(log, log.stat().st_size // 2))

    assert outcome(good, store_before) in ("other", StoreDamaged)


@pytest.mark.parametrize("path", ["", ".", "a.csv/enamels.duckdb", "n" * 300, "/dev/null", "/dev/zero", "a\0b"])
def test_a_path_that_is_no_file_is_a_sentence_for_every_command(path, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "a.csv").write_text(LINES)

    for action in (lambda s: s.read(), fill):
        with pytest.raises(RegisterError) as error:
            action(Store(Path(path)))
        assert error.value.code == StoreUnusable.code


def test_a_store_called_memory_is_a_file(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    fill(Store(Path(":memory:")))

    assert (tmp_path / ":memory:").is_file()


def test_a_store_of_a_later_storage_version_is_too_new(good):
    data = bytearray(good.path.read_bytes())
    data[12:20] = (5_000).to_bytes(8, "little")
    good.path.write_bytes(bytes(data))

    with pytest.raises((StoreTooNew, StoreDamaged)):
        good.read()
