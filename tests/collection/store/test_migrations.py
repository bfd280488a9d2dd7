"""A store and a package of an older schema are copied as they are, migrated, and read."""

import shutil
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import duckdb
import polars as pl
import pytest
from polars.testing import assert_frame_equal

from collection.snapshot import stored_schema
from collection.store import Change, Store, backup, journal, tables
from collection.store.connection import connection
from collection.store.migrations import MIGRATIONS, v0002_deliveries
from collection.store.restore import restore
from schemas.errors import SourceRefused
from schemas.tables import RECORDS
from tests.collection.store.conftest import copied_to

NOON = datetime(2026, 5, 1, 12)
NUMBERS = "The last of MIGRATIONS and SCHEMA_VERSION in collection/store/tables.py must be one number"
TO_DO = (
    "Write collection/store/migrations/v00NN_NAME.py (the last one there shows how), enter it in MIGRATIONS of"
    " __init__.py beside it, and set SCHEMA_VERSION in collection/store/tables.py to its number."
)
Layout = dict[str, dict[str, tuple[str, bool]]]  # of each table: columns with type, and whether of the key
V1 = {"storage_compatibility_version": "v1.4.0"}


@pytest.fixture(scope="module", autouse=True)
def stored_files_have_what_is_declared(layout_of_old: Layout, layout_of_new: Layout) -> None:
    """Fail before anything else where a declaration changed and no migration says how a stored file follows."""
    last = max(MIGRATIONS)
    if last != tables.SCHEMA_VERSION:
        pytest.fail(f"{NUMBERS}: they are {last} and {tables.SCHEMA_VERSION}.", pytrace=False)
    old, new = columns(layout_of_old), columns(layout_of_new)
    differing = [f"{name} ({old.get(name)}, declared: {new.get(name)})" for name in sorted({*old, *new})
                 if old.get(name) != new.get(name)]  # fmt: skip
    if differing:
        pytest.fail(f"Stored files do not get what is declared: {'; '.join(differing)}. {TO_DO}", pytrace=False)


@pytest.fixture
def old(old_store: Path) -> Store:
    return Store(old_store, now=lambda: NOON)


@pytest.fixture(scope="module")
def before(kept_store: Path) -> dict[str, list[dict[str, object]]]:
    """The rows of the old store, table by table."""
    return rows_of(kept_store)


@pytest.fixture(scope="module")
def migrated(kept_store: Path, tmp_path_factory: pytest.TempPathFactory) -> Store:
    """The old store, migrated by being read; to be read and never written to."""
    path = tmp_path_factory.mktemp("migrated") / "old.duckdb"
    store = copied_to(Store(path, now=lambda: NOON), kept_store)
    store.read()
    return store


@pytest.fixture(scope="module")
def layout_of_old(kept_store: Path, tmp_path_factory: pytest.TempPathFactory) -> Layout:
    """The layout of the old store after the layout of every schema since."""
    path = Path(shutil.copyfile(kept_store, tmp_path_factory.mktemp("layout") / "old.duckdb"))
    through(path, *MIGRATIONS)
    return shapes(path)


@pytest.fixture(scope="module")
def layout_of_new(tmp_path_factory: pytest.TempPathFactory) -> Layout:
    new = Store(tmp_path_factory.mktemp("new") / "new.duckdb")
    new.write(Change({"object": pl.DataFrame({"object_id": ["V.1"]})}), by="ada")
    return shapes(new.path)


@pytest.fixture(scope="module")
def of_schema_2(kept_store: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store of schema 2; to be copied."""
    path = Path(shutil.copyfile(kept_store, tmp_path_factory.mktemp("second") / "old.duckdb"))
    through(path, 2)
    return path


def through(path: Path, *schemas: int) -> None:
    """Take a store through the migrations to these schemas, and no further."""
    with duckdb.connect(str(path), config=V1) as con:
        for schema in schemas:
            MIGRATIONS[schema].change_layout(con)
            MIGRATIONS[schema].change_rows(con, NOON)
            con.execute("UPDATE about SET schema_version = ?", [schema])


def shapes(path: Path) -> Layout:
    """Columns, types and keys of every table."""
    with duckdb.connect(str(path), read_only=True, config=V1) as con:
        rows = con.sql("SELECT table_name, column_name, data_type FROM duckdb_columns() WHERE NOT internal").fetchall()
        keys = con.sql(
            "SELECT table_name, constraint_column_names FROM duckdb_constraints() WHERE constraint_type = 'PRIMARY KEY'"
        ).fetchall()
    keyed = {(table, name) for table, names in keys for name in names}
    shape: Layout = {}
    for table, name, kind in rows:
        shape.setdefault(table, {})[name] = (kind, (table, name) in keyed)
    return shape


def columns(layout: Layout) -> dict[str, tuple[str, bool]]:
    """Type and key of each column, by table and name."""
    return {f"{table}.{name}": kind for table, named in layout.items() for name, kind in named.items()}


def rows_of(path: Path) -> dict[str, list[dict[str, object]]]:
    """Every table as DuckDB alone reads it."""
    with duckdb.connect(str(path), read_only=True, config=V1) as con:
        names = [n for (n,) in con.sql("SHOW TABLES").fetchall()]
        return {n: con.sql(f"FROM {n} ORDER BY ALL").pl().to_dicts() for n in names}


def test_there_is_a_migration_to_every_schema_but_the_first():
    assert list(MIGRATIONS) == list(range(2, tables.SCHEMA_VERSION + 1))


def test_a_migrated_store_has_the_layout_of_a_new_one(migrated, layout_of_new):
    assert shapes(migrated.path) == layout_of_new


@pytest.mark.parametrize("open_it", [Store.read, lambda s: s.write(Change({}), by="ada")], ids=["read", "write"])
def test_a_store_is_copied_as_it_was_before_it_is_migrated(open_it, old, before):
    open_it(old)

    copy = old.path.with_name("old.schema-1-20260501-120000-000000.duckdb")
    assert rows_of(copy) == before
    assert before["about"] == [{"schema_version": 1}]
    assert rows_of(old.path)["about"][0]["schema_version"] == tables.SCHEMA_VERSION


def test_every_row_and_value_is_there_after_the_migration(migrated, before, layout_of_old):
    after = rows_of(migrated.path)
    changed = {"about", "setting", "refused_row", "journal"}
    for name in set(before) - changed:
        assert [{n: row[n] for n in first} for row, first in zip(after[name], before[name], strict=True)] == before[
            name
        ], name
    assert len(after["journal"]) == len(before["journal"]) + 3
    came_later = set(layout_of_old) - set(before)
    assert set(before) >= set(RECORDS) - came_later - {"climate_reading"}
    assert all(before[n] for n in before), "a record of the old store has no row: it proves nothing"


def test_the_line_given_as_a_magnitude_is_a_share(migrated):
    settings = dict(migrated.read()["setting"].select("name", "value").rows())

    assert settings == {
        "treat_from": "3.16227766017e-06",
        "currency": "GBP",
        "today": "2026-09-30",
        "value_basis": "value_points",
    }


@pytest.mark.parametrize(
    ("magnitude", "share"),
    [("12", "0.001"), ("15", "1"), ("9.5", "3.16227766017e-06"), ("high", None), ("1e999", None)],
)
def test_a_magnitude_is_turned_into_a_share_and_what_is_none_is_left_to_the_journal(magnitude, share, old):
    with duckdb.connect(str(old.path), config=V1) as con:
        con.execute("UPDATE setting SET value = ? WHERE name = 'magnitude_line'", [magnitude])

    settings = dict(old.read()["setting"].select("name", "value").rows())

    assert settings.get("treat_from") == share
    assert "magnitude_line" not in settings
    last = old.read_journal(record="setting").filter(pl.col("action") == "taken out")
    assert magnitude in last["before"][0]


def test_rows_of_other_collections_are_outside(migrated):
    assert sorted(migrated.read()["refused_row"]["outcome"]) == ["outside", "refused"]


def test_the_journal_of_a_migrated_store_still_gives_its_records(migrated):
    collection = migrated.read()
    replayed = journal.replay(migrated.read_journal())

    for name, frame in collection.frames.items():
        assert_frame_equal(frame, replayed[name], check_row_order=False)


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


def test_a_migration_that_fails_leaves_the_store_as_it_was(old, before, monkeypatch):
    def broken(*args: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr(v0002_deliveries, "_change_outcomes", broken)
    with pytest.raises(ZeroDivisionError):
        old.read()
    monkeypatch.undo()

    assert rows_of(old.path) == before
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


def test_a_package_of_the_first_schema_gives_the_records_of_its_store(migrated, old_package, tmp_path):
    new = Store(tmp_path / "new.duckdb", now=lambda: NOON)
    new.import_package(old_package)
    held, read_back = migrated.read_records(*RECORDS), new.read_records(*RECORDS)

    for name, spec in RECORDS.items():
        if name != "climate_reading":
            assert_frame_equal(held[name], read_back[name].select(stored_schema(spec).names()))


def test_a_package_of_a_later_schema_is_refused(store, tmp_path):
    store.write(Change({"object": pl.DataFrame({"object_id": ["V.1"]})}), by="ada")
    store.publish(tmp_path / "p", "csv")
    descriptor = tmp_path / "p" / "datapackage.json"
    ours, later = (f'"schemaVersion": {tables.SCHEMA_VERSION + n}' for n in range(2))
    assert ours in (text := descriptor.read_text("utf-8"))
    descriptor.write_text(text.replace(ours, later), "utf-8")

    with pytest.raises(SourceRefused, match="later Enamel Register"):
        Store(tmp_path / "new.duckdb").import_package(tmp_path / "p")


@pytest.mark.parametrize(
    ("decades", "times"), [("1.5", "31.6227766017"), ("1", "10"), ("0", None), ("wide", None), ("400", None)]
)
def test_a_store_of_schema_2_opens_and_its_line_in_decades_is_a_factor(decades, times, old, of_schema_2, layout_of_new):
    """A width of x decades, or of the 95th over the 5th percentile, is unsure from 10 to the x times."""
    copied_to(old, of_schema_2)
    with duckdb.connect(str(old.path), config=V1) as con:
        con.execute("INSERT INTO setting (name, value, row_version) VALUES ('width_line', ?, 1)", [decades])
    repairs = old.path.with_name("before.duckdb")
    shutil.copyfile(old.path, repairs)

    collection = old.read()

    settings = dict(collection["setting"].select("name", "value").rows())
    assert settings.get("unsure_from_times") == times
    assert "width_line" not in settings
    assert collection["action"].is_empty()
    assert collection["repair_state"]["harmed_mm2"].null_count() == collection["repair_state"].height > 0
    assert shapes(old.path) == layout_of_new
    before = rows_of(repairs)["repair"]
    assert [{n: row[n] for n in before[0]} for row in rows_of(old.path)["repair"]] == before
    assert (old.path.with_name("old.schema-2-20260501-120000-000000.duckdb")).exists()
