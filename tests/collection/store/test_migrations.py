"""A store and a package of an older schema are copied as they are, migrated, and read."""

import shutil
from pathlib import Path

import duckdb
import polars as pl
import pytest
from polars.testing import assert_frame_equal

from collection.snapshot import stored_schema
from collection.store import Change, Store, journal, tables
from collection.store.migrations import MIGRATIONS
from schemas.errors import SourceRefused
from schemas.tables import RECORDS
from tests.collection.store.conftest import copied_to
from tests.collection.store.old_stores import NOON, V1, Layout, columns, rows_of, shapes, through

NUMBERS = "The last of MIGRATIONS and SCHEMA_VERSION in collection/store/tables.py must be one number"
TO_DO = (
    "Write collection/store/migrations/v00NN_NAME.py (the last one there shows how), enter it in MIGRATIONS of"
    " __init__.py beside it, and set SCHEMA_VERSION in collection/store/tables.py to its number."
)


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


def test_there_is_a_migration_to_every_schema_but_the_first():
    assert list(MIGRATIONS) == list(range(2, tables.SCHEMA_VERSION + 1))


def test_a_migrated_store_has_the_layout_of_a_new_one(migrated, layout_of_new):
    assert shapes(migrated.path) == layout_of_new


def test_every_row_and_value_is_there_after_the_migration(migrated, old_rows, layout_of_old):
    after = rows_of(migrated.path)
    changed = {"about", "setting", "refused_row", "journal"}
    for name in set(old_rows) - changed:
        assert [{n: row[n] for n in first} for row, first in zip(after[name], old_rows[name], strict=True)] == old_rows[
            name
        ], name
    assert len(after["journal"]) == len(old_rows["journal"]) + 3
    came_later = set(layout_of_old) - set(old_rows)
    assert set(old_rows) >= set(RECORDS) - came_later - {"climate_reading"}
    assert all(old_rows[n] for n in old_rows), "a record of the old store has no row: it proves nothing"


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
