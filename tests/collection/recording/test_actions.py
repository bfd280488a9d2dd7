"""An interim action written down: accepted, journalled, refused with a sentence where something is missing or stale."""

import shutil
from dataclasses import replace
from datetime import date

import polars as pl
import pytest

from collection.recording.actions import Done, record_action
from collection.store import Change, Store
from tests.collection.risk.builders import register

TODAY = date(2026, 11, 1)
DONE = Done("O", "own_tray", date(2026, 10, 31), " Ida ", answers="damage:D1", note=" tray 4 ")


@pytest.fixture(scope="module")
def held_once(tmp_path_factory):
    """An object with one damage of the lid, another closed, a repair and a danger to people."""
    its = register(
        object=[{"object_id": "O"}, {"object_id": "P"}],
        part=[{"object_id": "O", "part": "whole"}],
        condition_check=[{"check_id": "k", "object_id": "O", "checked_on": "2026-10-01", "look": "inspection"}],
        damage=[
            {"damage_id": "D1", "object_id": "O", "part": "whole", "kind": "lifting"},
            {"damage_id": "D2", "object_id": "O", "part": "whole", "kind": "loss", "closed_on": date(2026, 10, 2)},
        ],
        repair=[{"repair_id": "R1", "object_id": "O", "part": "whole", "function": "holds", "material": "wax"}],
        danger_to_people=[{"object_id": "O", "part": "whole", "agent": "uranium"}],
    )
    rows = {name: frame.drop("row_version", strict=False) for name, frame in its.frames.items() if frame.height}
    store = Store(tmp_path_factory.mktemp("held") / "enamels.duckdb")
    store.write(Change(rows), by="tester")
    return store


@pytest.fixture
def held(store, held_once):
    shutil.copyfile(held_once.path, store.path)
    return store


def actions(store) -> list[tuple[object, ...]]:
    rows = store.read()["action"]
    return rows.select("action_id", "object_id", "hazard_id", "what", "done_on", "done_by", "note").rows()


def test_it_is_written_and_journalled_by_whoever_did_it(held):
    told = record_action(held, DONE, today=TODAY)

    assert told == "Written down as A001."
    assert actions(held) == [("A001", "O", "damage:D1", "own_tray", date(2026, 10, 31), "Ida", "tray 4")]
    last = held.read_record("journal").filter(pl.col("record_name") == "action")
    assert set(last["changed_by"]) == {"Ida"}
    assert last.height >= 1


def test_numbers_go_on_after_the_largest_there_is(held):
    for _ in range(2):
        record_action(held, DONE, today=TODAY)
    held.write(Change({"action": pl.DataFrame({"action_id": ["A041"], "object_id": ["O"], "what": ["supported"],
                                               "done_on": [date(2026, 10, 1)]})}), by="file")  # fmt: skip

    assert record_action(held, DONE, today=TODAY) == "Written down as A042."
    assert sorted(row[0] for row in actions(held)) == ["A001", "A002", "A041", "A042"]


@pytest.mark.parametrize("answers", ["", "damage:D1", "repair:R1", "danger:uranium"])
def test_what_it_may_answer(held, answers):
    assert record_action(held, replace(DONE, answers=answers), today=TODAY) == "Written down as A001."
    assert actions(held)[0][2] == (answers or None)


STALE = "Nothing was written: what it answers is no longer on record. Check the object again."


@pytest.mark.parametrize(
    ("other", "told"),
    [
        ({"by": "  "}, "First give your name."),
        (
            {"done_on": date(2026, 11, 2)},
            "Nothing was written: 2 November 2026 is still to come. Give the day it was done.",
        ),
        (
            {"until": date(2026, 10, 30)},
            "Nothing was written: it would end before it was done. Give a later day, or none.",
        ),
        ({"answers": "damage:D2"}, STALE),  # closed meanwhile
        ({"answers": "damage:D9"}, STALE),
        ({"answers": "repair:D1"}, STALE),
        ({"answers": "place:L1"}, STALE),
        ({"object_id": "P"}, STALE),  # the damage is of another object
        ({"what": "varnished"}, "Nothing was written: this is not a term of the vocabulary."),
        (
            {"object_id": "Z", "answers": ""},
            "Nothing was written: the row points to something the register does not have.",
        ),
    ],
    ids=str,
)
def test_what_is_missing_or_stale_is_said_and_nothing_written(held, other, told):
    before = held.version()

    assert record_action(held, replace(DONE, **other), today=TODAY) == told
    assert held.version() == before
    assert actions(held) == []


def test_two_who_write_at_the_same_moment_do_not_write_over_each_other(held, monkeypatch):
    """The second read the register before the first had written."""
    stale = held.read()
    record_action(held, DONE, today=TODAY)
    with monkeypatch.context() as patch:
        patch.setattr(type(held), "read", lambda _: stale)
        told = record_action(held, replace(DONE, by="Udo", what="own_box"), today=TODAY)

    assert told.startswith("Nothing was written: somebody else used number A001")
    assert [row[3:6:2] for row in actions(held)] == [("own_tray", "Ida")]
