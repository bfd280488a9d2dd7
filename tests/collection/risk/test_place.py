"""What a place does: climate since the check beside the climate of the check, targets, what lies within what."""

from datetime import date, datetime, timedelta

import polars as pl
import pytest

from collection.as_of import as_known
from collection.attention.classify import attention
from collection.risk.placed import nearest_logger, within
from collection.risk.rates import RatesTable
from tests.collection.risk.builders import AS_OF, assessed, check, register

CHANGE = date(2025, 11, 1)


def hours(rh_before: float, rh_after: float, temperature: float = 20.0, place: str = "room") -> pl.DataFrame:
    """Two years of hours at one place; the humidity changes a year before the day of the question."""
    first = datetime(2024, 11, 1)
    at = [first + timedelta(hours=n) for n in range(24 * 730)]
    rh = [rh_before if moment.date() <= CHANGE else rh_after for moment in at]
    return pl.DataFrame(
        {"location_id": [place] * len(at), "hour": at, "temperature_c": [temperature] * len(at), "rh_percent": rh},
        schema_overrides={"hour": pl.Datetime("us")},
    )


def weeping(**more):
    """An object in a box in a room, seen weeping on the day the climate changed."""
    return register(
        location=[
            {"location_id": "room"},
            {"location_id": "box", "within": "room", "enclosure": more.pop("box", "open")},
        ],
        object=[{"object_id": "O", "location_id": "box", "glass_stability": "known_unstable"}],
        part=[{"object_id": "O", "part": "whole"}],
        condition_check=[check("k", "O", CHANGE.isoformat())],
        damage=[{"damage_id": "d", "object_id": "O", "part": "whole", "kind": "weeping"}],
        observation=[{"check_id": "k", "damage_id": "d", "activity": more.pop("activity", "active")}],
        **more,
    )


def modifier(collection, readings):
    (row,) = assessed(collection, readings).hazards.to_dicts()
    return row["modifier"]


def test_damp_since_the_look_multiplies_the_rate():
    """Above 45 % all the time: x 10; before, within 40 to 45 %: x 1."""
    assert modifier(weeping(), hours(42, 60)) == pytest.approx(10)


def test_a_bad_place_that_did_not_change_is_not_counted_twice():
    assert modifier(weeping(), hours(60, 60)) == 1


def test_a_better_place_lowers_the_rate():
    assert modifier(weeping(), hours(60, 42)) == pytest.approx(0.1)


def test_nothing_known_is_1():
    assert modifier(weeping(), None) == 1
    assert modifier(weeping(), hours(42, 60, place="elsewhere")) == 1


def test_a_sealed_box_keeps_its_own_air():
    assert modifier(weeping(box="sealed"), hours(42, 60)) == 1


def test_the_climate_of_the_look_is_that_of_the_place_it_was_in_then():
    """It came from a room that nobody measures: nothing is known of then, so nothing is said."""
    moved = [
        {"move_id": "m", "object_id": "O", "moved_on": date(2025, 12, 1), "moved_from": "cellar", "moved_to": "box"}
    ]

    assert modifier(weeping(move=moved), hours(42, 60)) == 1


def test_readings_reach_down_to_the_next_own_air_or_logger():
    tree = register(
        location=[
            {"location_id": "house"},
            {"location_id": "room", "within": "house"},
            {"location_id": "case", "within": "room", "enclosure": "conditioned"},
            {"location_id": "shelf", "within": "room"},
            {"location_id": "tray", "within": "case"},
        ]
    )["location"]
    readings = pl.DataFrame({"location_id": ["house", "room"]})

    told = dict(nearest_logger(tree, readings).select("location_id", "air").iter_rows())

    assert told == {"house": "house", "room": "room", "shelf": "room"}
    assert within(tree).filter(pl.col("location_id") == "tray")["above"].sort().to_list() == [
        "case",
        "house",
        "room",
        "tray",
    ]


def test_outside_a_reasoned_target_asks_for_a_better_place_and_wakes_the_dormant():
    target = {"target_id": "t", "object_id": "O", "rh_low": 40.0, "rh_high": 45.0}
    reasoned = weeping(activity="dormant", target=[target | {"reason": "weeping glass"}])
    default = weeping(activity="dormant", target=[target])

    told = {}
    for name, collection in (("reasoned", reasoned), ("default", default)):
        risk = assessed(collection, hours(42, 60))
        classes = attention(risk, as_known(collection, AS_OF), RatesTable.of(collection))
        told[name] = (classes["attention"].item(), risk.hazards["state"].item())

    assert told["reasoned"] == ("act_move", "unknown")
    assert told["default"][1] == "unknown"
