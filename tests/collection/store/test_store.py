"""The store: what goes in comes out, a stale write is data, the journal tells the whole story, a stranger's file is refused."""

from datetime import date, datetime
from decimal import Decimal
from pathlib import Path

import duckdb
import polars as pl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from polars.testing import assert_frame_equal

from collection.store import Change, Store, journal
from schemas.errors import StoreDamaged, StoreTooNew, StoreUnusable, WrongUsage

OBJECTS = pl.DataFrame(
    {
        "object_id": ["V.1", "V.2"],
        "title": ["Plaque", None],
        "technique": [["cloisonne", "painted"], None],
        "height_mm": [12.5, None],
        "insured_value": [Decimal("120.50"), None],
    },
    schema_overrides={"insured_value": pl.Decimal(18, 2)},
)


def written(store: Store, frame: pl.DataFrame, *, by: str = "ada", from_file: bool = False):
    return store.write(Change({"object": frame}, from_file=from_file), by=by)


def test_what_goes_in_comes_out_with_its_types(store):
    written(store, OBJECTS)

    held = store.read()["object"]

    assert_frame_equal(held.select(OBJECTS.columns), OBJECTS)
    assert held["row_version"].to_list() == [1, 1]


def test_writing_the_same_again_changes_nothing(store):
    written(store, OBJECTS)
    before = store.read_journal()

    again = written(store, OBJECTS.with_columns(row_version=pl.lit(1)))

    assert again.unchanged == {"object": 2}
    assert_frame_equal(store.read_journal(), before)


def test_a_row_written_against_an_old_version_is_a_conflict_with_both_values(store):
    written(store, OBJECTS)
    change = pl.DataFrame({"object_id": ["V.1"], "row_version": [1]})
    written(store, change.with_columns(title=pl.lit("Her title")), by="ada")

    late = written(store, change.with_columns(title=pl.lit("His title")), by="ben")

    (conflict,) = late.conflicts.to_dicts()
    assert (conflict["column"], conflict["yours"], conflict["theirs"], conflict["changed_by"]) == (
        "title",
        '"His title"',
        '"Her title"',
        "ada",
    )
    assert store.read()["object"]["title"].to_list() == ["Her title", None]


def test_an_empty_cell_of_a_file_empties_nothing_and_one_of_a_form_does(store):
    written(store, OBJECTS)
    empty = pl.DataFrame(
        {"object_id": ["V.1"], "row_version": [1], "title": [None]}, schema_overrides={"title": pl.String}
    )

    written(store, empty, from_file=True)
    assert store.read()["object"]["title"][0] == "Plaque"

    written(store, empty)
    assert store.read()["object"]["title"][0] is None


def test_columns_written_by_a_person_are_remembered_until_a_file_writes_them(store):
    written(store, OBJECTS.select("object_id"), from_file=True)
    written(store, pl.DataFrame({"object_id": ["V.1"], "title": ["By hand"], "row_version": [1]}))
    assert store.read()["object"]["set_here"].to_list() == [["title"], []]

    written(store, pl.DataFrame({"object_id": ["V.1"], "title": ["From a file"], "row_version": [2]}), from_file=True)

    assert store.read()["object"]["set_here"].to_list() == [[], []]


def test_a_withdrawn_row_is_kept_with_its_reason_and_counts_no_more(store):
    written(store, OBJECTS)
    withdrawn = pl.DataFrame(
        {
            "object_id": ["V.2"],
            "row_version": [1],
            "withdrawn_on": [date(2026, 1, 2)],
            "withdrawn_reason": ["typing mistake"],
        }
    )

    written(store, withdrawn)

    collection = store.read()
    assert collection["object"]["object_id"].to_list() == ["V.1"]
    assert collection.frames["object"]["withdrawn_reason"].to_list() == [None, "typing mistake"]


text = st.one_of(st.none(), st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=12))


@given(
    first=st.lists(st.tuples(text, st.one_of(st.none(), st.floats(0.1, 99_999))), min_size=1, max_size=4),
    second=st.lists(st.tuples(text, st.one_of(st.none(), st.floats(0.1, 99_999))), min_size=1, max_size=4),
)
@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_replaying_the_journal_gives_the_same_package_byte_for_byte(tmp_path_factory, first, second):
    folder = tmp_path_factory.mktemp("replay")
    store = Store(folder / "a.duckdb", now=lambda: datetime(2026, 1, 1, 12))
    for rows, versions in ((first, False), (second, True)):
        frame = pl.DataFrame(
            [(f"V.{i}", title, height) for i, (title, height) in enumerate(rows)],
            schema={"object_id": pl.String, "title": pl.String, "height_mm": pl.Float64},
            orient="row",
        )
        known = store.read().frames["object"].select("object_id", "row_version") if versions else None
        written(store, frame if known is None else frame.join(known, on="object_id", how="left"))
    replayed = journal.replay(store.read_journal())

    for name, held in store.read().frames.items():
        assert_frame_equal(held, replayed[name], check_row_order=False)


def test_a_file_that_is_no_store_is_refused_in_a_sentence(tmp_path: Path):
    path = tmp_path / "letter.duckdb"
    path.write_text("Dear colleague")

    with pytest.raises(StoreDamaged, match="not an Enamel Register store"):
        Store(path).read()


def test_a_database_of_another_program_is_refused(tmp_path: Path):
    path = tmp_path / "other.duckdb"
    with duckdb.connect(str(path)) as con:
        con.execute("CREATE TABLE letters (a INTEGER)")

    with pytest.raises(StoreDamaged):
        Store(path).read()


def test_a_store_of_a_later_schema_is_refused_and_left_alone(store):
    written(store, OBJECTS)
    with duckdb.connect(str(store.path), config={"storage_compatibility_version": "v1.4.0"}) as con:
        con.execute("UPDATE about SET schema_version = 99")

    with pytest.raises(StoreTooNew, match="later Enamel Register"):
        store.read()
    with pytest.raises(StoreTooNew):
        written(store, OBJECTS)


def test_a_missing_store_says_what_to_do(store):
    with pytest.raises(StoreUnusable, match="enamels intake"):
        store.read()


def test_the_version_changes_with_every_write_and_with_nothing_else(store):
    written(store, OBJECTS)
    first = store.version()
    store.read()
    assert store.version() == first

    written(store, pl.DataFrame({"object_id": ["V.3"]}))

    assert store.version() != first


@pytest.mark.parametrize("form", ["csv", "parquet"])
def test_a_published_package_read_into_an_empty_store_publishes_the_same_bytes(store, tmp_path, form):
    awkward = ["=1+1", "+49", "-5", "@x", "'quoted", "\ttab", "two\nlines", 'comma, "quote"', "ünïcode 漢字", "\r"]
    written(
        store,
        pl.DataFrame(
            {
                "object_id": [f"V.{i}" for i in range(len(awkward))],
                "title": awkward,
                "technique": [["painted"]] * len(awkward),
            }
        ),
    )
    written(store, pl.DataFrame({"object_id": ["V.0"], "title": ["changed"], "row_version": [1]}), by="ben")
    store.write_readings(iter([readings(3)]), "l.csv", "0" * 64, by="ada")
    first = store.publish(tmp_path / "one", form)

    other = Store(tmp_path / "other.duckdb")
    other.import_package(tmp_path / "one")
    second = other.publish(tmp_path / "two", form)

    assert_frame_equal(first, second)
    for file in first["file"]:
        assert (tmp_path / "one" / file).read_bytes() == (tmp_path / "two" / file).read_bytes()


def test_text_that_a_spreadsheet_would_run_is_guarded_in_the_package(store, tmp_path):
    written(store, pl.DataFrame({"object_id": ["V.1", "V.2"], "title": ["=HYPERLINK(1)", "'a"]}))

    store.publish(tmp_path / "p", "csv")

    assert "'=HYPERLINK(1)" in (tmp_path / "p" / "object.csv").read_text("utf-8")
    assert "''a" in (tmp_path / "p" / "object.csv").read_text("utf-8")


def test_a_package_is_taken_into_an_empty_store_only(store, tmp_path):
    written(store, OBJECTS)
    store.publish(tmp_path / "p", "csv")

    with pytest.raises(WrongUsage, match="not empty"):
        store.import_package(tmp_path / "p")


def test_readings_come_once_and_out_as_hourly_means(store):
    first = store.write_readings(iter([readings(4)]), "l.csv", "0" * 64, by="ada")
    again = store.write_readings(iter([readings(5)]), "l2.csv", "1" * 64, by="ada")
    hours = store.read_hours(["E1"], date(2026, 1, 1), date(2026, 1, 1))

    assert (first.added, again.added, again.unchanged) == (
        {"climate_reading": 4},
        {"climate_reading": 1},
        {"climate_reading": 4},
    )
    assert hours["rh_percent"].to_list() == [51.0, 53.5]  # (50 + 51 + 52) / 3 at 0 h, (53 + 54) / 2 at 1 h
    assert store.read_journal().height == 2


def readings(count: int) -> pl.DataFrame:
    moments = [datetime(2026, 1, 1, 20 * i // 60, 20 * i % 60) for i in range(count)]
    return pl.DataFrame(
        {
            "logger_id": ["L"] * count,
            "location_id": ["E1"] * count,
            "read_at": moments,
            "temperature_c": [20.0] * count,
            "rh_percent": [50.0 + i for i in range(count)],
        }
    )
