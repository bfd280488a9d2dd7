"""Agreed beside needed, quantity by quantity: worked by hand, from records to the words."""

from datetime import date

import polars as pl
import pytest

from collection.as_of import as_known
from collection.loans.limits import OF_CLIMATE, OF_LIGHT, conflicts, fit_words, limits, span
from tests.collection.risk.builders import AS_OF, register

LENT = {"loan_id": "L", "object_id": "O", "part": "whole"}
NARROW = {"target_id": "A", "object_id": "O", "rh_low": 40.0, "rh_high": 46.0, "reason": "weeps", "set_by": "Ada"}
WIDE = {"target_id": "B", "location_id": "room", "rh_low": 38.0, "rh_high": 50.0, "temperature_high": 22.0,
        "reason": "steel", "set_by": "Ben"}  # fmt: skip
LATER, EARLIER = {"set_on": date(2026, 5, 1)}, {"set_on": date(2020, 5, 1)}


def rows(*targets, lent=(), requirement=(), **agreed):
    collection = register(
        object=[{"object_id": "O", "location_id": "room"}],
        location=[{"location_id": "room"}],
        loan=[{"loan_id": "L", "direction": "out"}],
        loan_object=[LENT | agreed, *lent],
        target=list(targets),
        requirement=list(requirement),
    )
    return as_known(collection, AS_OF)


def of(quantity, *targets, **more):
    frame = limits(rows(*targets, **more)).filter(quantity=quantity).collect()
    assert frame.height == 1
    return frame.row(0, named=True)


def test_one_row_a_quantity_whether_anybody_set_it_or_not():
    frame = limits(rows()).collect()

    assert frame["quantity"].to_list() == [*OF_CLIMATE, *OF_LIGHT]
    assert frame.select(pl.selectors.float()).null_count().row(0) == (7, 7, 7, 7)
    assert not frame["conflict"].any()


# Agreed low, high; needs 40 to 46 %: a conflict is whatever reaches beyond either end, the ends themselves do not.
REACHES = {
    "inside": (42.0, 44.0, False),
    "the same": (40.0, 46.0, False),
    "below": (39.9, 46.0, True),
    "above": (40.0, 46.1, True),
    "only an upper end, inside": (None, 46.0, False),
    "only an upper end, above": (None, 50.0, True),
    "nothing agreed": (None, None, False),
}


@pytest.mark.parametrize(("low", "high", "beyond"), REACHES.values(), ids=REACHES)
def test_what_reaches_beyond_either_end_is_a_conflict(low, high, beyond):
    row = of("humidity", NARROW, rh_low=low, rh_high=high)

    assert (row["needs_low"], row["needs_high"], row["conflict"]) == (40.0, 46.0, beyond)


def test_of_several_targets_the_narrowest_counts_and_the_one_set_last_gives_the_reason():
    humid = of("humidity", NARROW | EARLIER, WIDE | LATER)
    warm = of("temperature", NARROW | EARLIER, WIDE | LATER, temperature_high=24.0)

    assert (humid["needs_low"], humid["needs_high"]) == (40.0, 46.0)
    assert (humid["reason"], humid["set_by"], humid["set_on"]) == ("steel", "Ben", date(2026, 5, 1))
    assert (warm["needs_high"], warm["conflict"]) == (22.0, True)


def test_a_case_bridges_the_air_and_never_the_light():
    both = conflicts(
        rows(NARROW, requirement=[{"object_id": "O", "lux_most": 50.0}], rh_high=55.0, lux_most=150.0, case_need="42 %")
    ).collect()

    assert dict(both.select("quantity", "bridged").iter_rows()) == {"humidity": True, "light": False}


def test_light_is_held_to_the_requirement_with_its_reason():
    needed = {"object_id": "O", "lux_most": 50.0, "uv_most": 10.0, "light_hours": 50_000.0, "reason": "organic dye"}
    row = of("light_total", requirement=[needed], light_hours=60_000.0)

    assert (row["agreed_high"], row["needs_high"], row["unit"], row["reason"], row["conflict"]) == (
        60_000.0, 50_000.0, "lx h", "organic dye", True)  # fmt: skip


def test_an_object_of_two_loans_is_judged_for_each():
    lent = [{"loan_id": "M", "object_id": "O", "part": "whole", "rh_high": 44.0}]
    frame = limits(rows(NARROW, lent=lent, rh_high=55.0)).filter(quantity="humidity").collect()

    assert dict(frame.select("loan_id", "conflict").iter_rows()) == {"L": True, "M": False}


def worded(**ends):
    row = dict.fromkeys(("agreed_low", "agreed_high", "needs_low", "needs_high")) | ends
    frame = pl.DataFrame([row | {"unit": "%"}], schema_overrides=dict.fromkeys(row, pl.Float64))
    return frame.select(agreed=span("agreed"), needs=span("needs")).row(0)


def test_both_sides_in_words():
    assert worded(agreed_low=38.0, agreed_high=50.0, needs_high=46.5) == ("38 to 50 %", "at most 46.5 %")
    assert worded(agreed_low=38.0) == ("at least 38 %", None)


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ({"conflict": True, "bridged": False}, "CONFLICT, not bridged"),
        ({"conflict": True, "bridged": True}, "only in the case agreed"),
        ({"agreed_high": 50.0, "needs_high": 50.0}, "yes"),
        ({"agreed_high": 50.0}, "nothing to compare"),
        ({"needs_low": 50.0}, "nothing to compare"),
    ],
)
def test_whether_they_fit_in_words(row, words):
    ends = dict.fromkeys(("agreed_low", "agreed_high", "needs_low", "needs_high"))

    assert fit_words(ends | {"conflict": False, "bridged": False} | row) == words
