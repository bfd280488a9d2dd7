"""A delivery is a stretch of the journal; undoing it reverses that stretch and leaves all else as it was."""

from datetime import date
from pathlib import Path

import polars as pl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from polars.testing import assert_frame_equal

from collection.store import Change, Store, journal
from collection.store.change import DeliveryNote, FileReadings
from schemas.errors import NotFound, StoreEmpty, WrongUsage
from tests.collection.store.deliveries import DAY, deliver, objects, published, records, same


@pytest.fixture
def store(tmp_path: Path) -> Store:
    return Store(tmp_path / "enamels.duckdb", now=lambda: DAY)


def test_a_delivery_says_what_came_by_whom_and_which_stretch_of_the_journal_it_is(store):
    first = deliver(store, object=objects(("V.1", "Box"), ("V.2", "Jug")))
    second = deliver(store, "b.csv", object=objects(("V.2", "Ewer")))

    listed = store.deliveries()
    assert (first.delivery_id, second.delivery_id) == ("D1", "D2")
    assert listed.select("delivery_id", "made_by", "files", "counts", "first_seq", "last_seq").rows() == [
        ("D1", "ada", '["a.csv"]', '{"object": {"new": 2, "changed": 0, "unchanged": 0}}', 1, 2),
        ("D2", "ada", '["b.csv"]', '{"object": {"new": 0, "changed": 1, "unchanged": 0}}', 4, 4),
    ]


def test_a_delivery_that_brings_nothing_new_leaves_no_trace(store):
    deliver(store, object=objects(("V.1", "Box")))
    before = store.read_journal()

    assert deliver(store, object=objects(("V.1", "Box"))).delivery_id is None
    assert_frame_equal(store.read_journal(), before)
    assert store.deliveries().height == 1


def test_rows_added_leave_and_rows_changed_are_as_before(store, tmp_path):
    deliver(store, object=objects(("V.1", "Box"), ("V.2", None)))
    before, bytes_before = records(store), published(store, tmp_path / "before")
    deliver(
        store, "b.csv", object=objects(("V.1", "Casket"), ("V.3", "Jug")), person=pl.DataFrame({"person_id": ["P"]})
    )

    undone = store.undo(by="ben")

    assert (undone.delivery_id, undone.removed, undone.put_back) == ("D2", {"object": 1, "person": 1}, {"object": 1})
    same(records(store), before)
    assert published(store, tmp_path / "after").keys() == bytes_before.keys()


def test_undoing_what_only_added_leaves_every_other_record_byte_for_byte(store, tmp_path):
    deliver(store, object=objects(("V.1", "Box")))
    before = published(store, tmp_path / "before")
    readings = pl.DataFrame({"logger_id": ["L"], "read_at": [DAY], "rh_percent": [50.0]})
    note = DeliveryNote(["b.csv", "l.csv"])
    change = Change(
        {"object": objects(("V.2", "Jug"))},
        from_file=True,
        readings=[FileReadings([readings], "l.csv", "0" * 64)],
        delivery=note,
    )
    store.write(change, by="ada")

    undone = store.undo(by="ben")

    assert undone.removed == {"object": 1, "climate_reading": 1}
    assert published(store, tmp_path / "after") == before


def test_an_undo_is_itself_journalled_and_the_journal_still_gives_the_records(store):
    deliver(store, object=objects(("V.1", "Box"), ("V.2", None)))
    deliver(store, "b.csv", object=objects(("V.1", "Casket"), ("V.3", "Jug")))
    store.undo(by="ben")
    deliver(store, "c.csv", object=objects(("V.3", "Ewer"), ("V.2", "Cup")))

    entries = store.read_journal().filter(changed_by="ben")
    assert entries["action"].to_list() == ["taken out", "put back", "changed"]
    replayed = journal.replay(store.read_journal())
    for name, frame in store.read().frames.items():
        assert_frame_equal(frame, replayed[name], check_row_order=False)


def test_a_delivery_may_come_in_again_after_it_was_undone(store):
    deliver(store, object=objects(("V.1", "Box")))
    before = records(store)
    store.undo(by="ben")
    again = deliver(store, object=objects(("V.1", "Box")))

    assert again.added == {"object": 1}
    assert again.delivery_id == "D2"
    same(records(store), before)


def test_deliveries_are_undone_one_after_another_from_the_last(store):
    states = [records(store) if store.exists() else None]
    for title in ("Box", "Casket", "Coffer"):
        deliver(store, object=objects(("V.1", title)))
        states.append(records(store))

    assert store.undo("D2", by="ben").standing.height == 1
    for number in (3, 2):
        assert store.undo(by="ben").delivery_id == f"D{number}"
        same(records(store), states[number - 1])
    assert store.undo(by="ben").removed == {"object": 1}
    with pytest.raises(NotFound, match="no delivery to undo"):
        store.undo(by="ben")


def test_a_delivery_is_undone_once_and_by_its_number(store):
    deliver(store, object=objects(("V.1", "Box")))
    deliver(store, object=objects(("V.2", "Jug")))

    store.undo("d1", by="ben")

    assert store.read()["object"]["object_id"].to_list() == ["V.2"]
    listed = store.deliveries()
    assert listed.select("undone_on", "undone_by").rows() == [(date(2026, 3, 1), "ben"), (None, None)]
    with pytest.raises(WrongUsage, match="undone on 2026-03-01 by ben"):
        store.undo("D1", by="ben")
    with pytest.raises(NotFound):
        store.undo("D9", by="ben")


def test_without_a_store_there_is_nothing_to_undo(store):
    with pytest.raises(StoreEmpty):
        store.undo(by="ben")
    assert not store.exists()


def test_readings_of_a_delivery_leave_and_those_of_others_stay(store):
    def readings(*hours: int) -> FileReadings:
        moments = [DAY.replace(hour=h) for h in hours]
        frame = pl.DataFrame({"logger_id": ["L"] * len(hours), "read_at": moments, "rh_percent": [50.0] * len(hours)})
        return FileReadings([frame], "l.csv", f"{hours[0]:064x}")

    for part in (readings(1, 2), readings(2, 3, 4)):
        store.write(Change({}, from_file=True, readings=[part], delivery=DeliveryNote([part.file])), by="ada")

    assert store.undo(by="ben").removed == {"climate_reading": 2}
    assert [t.hour for t in store.read_record("climate_reading")["read_at"]] == [1, 2]
    again = store.write(Change({}, from_file=True, readings=[readings(2, 3, 4)]), by="ada")
    assert again.added == {"climate_reading": 2}


titles = st.dictionaries(
    st.sampled_from(["V.1", "V.2", "V.3"]), st.sampled_from([None, "Box", "=1", "ünï '\"\\"]), min_size=1
)


@given(st.lists(titles, min_size=1, max_size=4))
@settings(max_examples=6, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_undoing_every_delivery_from_the_last_gives_each_former_state(tmp_path_factory, deliveries):
    store = Store(tmp_path_factory.mktemp("undo") / "enamels.duckdb", now=lambda: DAY)
    deliver(store, "first.csv", object=objects(("V.1", "First")))
    states = []
    for number, pairs in enumerate(deliveries):
        before = records(store)
        if deliver(store, f"{number}.csv", object=objects(*pairs.items())).delivery_id:
            states.append(before)

    for before in reversed(states):
        assert store.undo(by="ben").standing.is_empty()
        same(records(store), before)
    replayed = journal.replay(store.read_journal())
    assert_frame_equal(store.read().frames["object"], replayed["object"], check_row_order=False)
