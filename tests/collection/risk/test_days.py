"""Each measured day counts as one, whatever number of readings it has; a part apart keeps to its own place."""

from datetime import date, datetime, timedelta

import polars as pl
import pytest

from collection.as_of import as_known
from collection.risk.climate import Targets, means, summed
from tests.collection.risk.builders import AS_OF, check, register


def at(moments, rh_percent, place="room"):
    return pl.DataFrame(
        {"location_id": place, "hour": moments, "temperature_c": 20.0, "rh_percent": rh_percent},
        schema_overrides={"hour": pl.Datetime("us")},
    )


def test_a_day_of_24_readings_counts_as_much_as_a_day_of_one():
    """24 hours outside, then one daily mean inside: half of the time, not 24 of 25 parts of it."""
    moments = [datetime(2026, 10, 1, hour) for hour in range(24)] + [datetime(2026, 10, 2, 12)]
    hours = pl.DataFrame({"air": "room", "hour": moments, "outside": [1.0] * 24 + [0.0]})
    ask = pl.DataFrame({"ask": [0], "air": ["room"], "first": [date(2026, 9, 30)], "last": [date(2026, 10, 2)]})

    answer = means(ask, summed(hours, ["air"], ["outside"]), ["air"], "first", "last").row(0, named=True)

    assert answer["days"] == 2
    assert answer["outside"] == pytest.approx(0.5)


def half_dry(place, rh_by_day):
    """Hours of one place with a relative humidity a day."""
    moments = [datetime(2026, 1, 1) + timedelta(days=n, hours=h) for n in range(len(rh_by_day)) for h in range(24)]
    return at(moments, [rh for rh in rh_by_day for _ in range(24)], place)


def test_a_part_apart_is_held_to_its_own_place_and_no_other():
    """The foot lies in the store, too damp for it; the body stands in the room, which is what its target asks."""
    places = register(
        location=[{"location_id": "room"}, {"location_id": "store"}],
        object=[{"object_id": "O", "location_id": "room"}],
        part=[
            {"object_id": "O", "part": "whole"},
            {"object_id": "O", "part": "foot", "location_id": "store"},
        ],
        condition_check=[check("k", "O", "2025-12-31")],
        target=[{"target_id": "t", "location_id": "store", "rh_high": 45.0, "reason": "weeping glass"}],
    )
    damp_store = pl.concat([half_dry("room", [40.0] * 300), half_dry("store", [60.0] * 300)])
    dry_store = pl.concat([half_dry("room", [60.0] * 300), half_dry("store", [40.0] * 300)])
    looks = pl.DataFrame({"object_id": ["O"], "since": [date(2025, 12, 31)]})

    shares = [
        Targets(as_known(places, AS_OF), hours).outside(looks)["outside_share"].to_list()
        for hours in (damp_store, dry_store)
    ]

    assert shares == [[1.0], [0.0]]
