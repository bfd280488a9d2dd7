"""What stands in the way of an undo is named and nothing is undone; who saw what was taken back is told."""

import polars as pl
from polars.testing import assert_frame_equal

from collection.store import Change
from tests.collection.store.deliveries import deliver, objects


def test_who_saw_a_row_that_was_taken_out_and_came_again_is_told(store):
    deliver(store, object=objects(("V.1", "Box")))
    seen = store.read()["object"].select("object_id", "row_version")
    store.undo(by="ben")
    deliver(store, object=objects(("V.1", "Another box")))

    late = store.write(Change({"object": seen.with_columns(title=pl.lit("Mine"))}), by="cleo")

    assert late.conflicts["theirs"].to_list() == ['"Another box"']


def test_who_saw_values_that_were_taken_back_is_told(store):
    deliver(store, object=objects(("V.1", "Box")))
    deliver(store, object=objects(("V.1", "Casket")))
    seen = store.read()["object"].select("object_id", "row_version")
    store.undo(by="ben")

    late = store.write(Change({"object": seen.with_columns(title=pl.lit("Mine"))}), by="cleo")

    assert late.conflicts["theirs"].to_list() == ['"Box"']


def test_rows_changed_later_stand_in_the_way_and_are_named(store):
    deliver(store, object=objects(("V.1", "Box"), ("V.2", "Jug")))
    by_hand = pl.DataFrame({"object_id": ["V.2"], "row_version": [1], "title": ["By hand"]})
    store.write(Change({"object": by_hand}), by="cleo")
    before = store.read_journal()

    undone = store.undo(by="ben")

    assert undone.standing.select("record_name", "row_key", "changed_by").rows() == [
        ("object", '{"object_id":"V.2"}', "cleo")
    ]
    assert (undone.removed, undone.put_back) == ({}, {})
    assert_frame_equal(store.read_journal(), before)


def test_rows_that_point_to_an_added_row_stand_in_the_way(store):
    deliver(store, object=objects(("V.1", "Box"), ("V.2", "Jug")), location=pl.DataFrame({"location_id": ["A"]}))
    check = pl.DataFrame({"check_id": ["C1"], "object_id": ["V.1"], "checked_on": ["2026"], "look": ["inspection"]})
    store.write(Change({"condition_check": check}), by="cleo")

    undone = store.undo(by="ben")

    assert undone.standing.select("record_name", "row_key").rows() == [("condition_check", '{"check_id":"C1"}')]


def test_damage_on_a_part_that_was_added_stands_in_the_way(store):
    deliver(store, object=objects(("V.1", "Box")))
    deliver(store, part=pl.DataFrame({"object_id": ["V.1"], "part": ["lid"]}))
    damage = pl.DataFrame({"damage_id": ["D"], "object_id": ["V.1"], "part": ["lid"], "kind": ["loss"]})
    store.write(Change({"damage": damage}), by="cleo")

    assert store.undo(by="ben").standing["record_name"].to_list() == ["damage"]


def test_rows_of_the_same_delivery_that_point_to_each_other_do_not(store):
    deliver(
        store, location=pl.DataFrame({"location_id": ["A", "B"], "within": [None, "A"]}), object=objects(("V.1", "Box"))
    )

    assert store.undo(by="ben").removed == {"object": 1, "location": 2}
