"""A fault put right, a sorbent or a filter renewed: written once, journalled, refused with a sentence."""

from dataclasses import replace
from datetime import date

import polars as pl
import pytest

from collection.recording.places import Mended, Renewal, record_mended, record_renewal
from collection.store import Change

TODAY = date(2026, 11, 1)
FAULT = Mended("S1", date(2026, 2, 11), "dust", date(2026, 10, 30), " Ida ")
SORBENT = Renewal("S1", "sorbent", date(2026, 10, 31), "Ida", lasts_months=6)


@pytest.fixture
def held(store):
    places = pl.DataFrame(
        {"location_id": ["S1", "S2"], "sorbent_renewed_on": [date(2026, 1, 1), None], "name": ["Shelf", None]}
    )
    faults = pl.DataFrame(
        {"location_id": ["S1"], "seen_on": [date(2026, 2, 11)], "fault": ["dust"], "severity": ["minor"]}
    )
    store.write(Change({"location": places, "place_check": faults}), by="tester")
    return store


def test_a_fault_put_right_keeps_all_else_and_is_journalled_under_the_name(held):
    assert record_mended(held, FAULT, held.read(), today=TODAY) == "Written down: put right on 30 October 2026."

    row = held.read()["place_check"].row(0, named=True)
    assert (row["mended_on"], row["severity"], row["row_version"]) == (date(2026, 10, 30), "minor", 2)
    last = held.read_journal(record="place_check").row(-1, named=True)
    assert (last["changed_by"], last["action"]) == ("Ida", "changed")


@pytest.mark.parametrize(
    ("what", "day", "months"),
    [("sorbent", "sorbent_renewed_on", "sorbent_lasts_months"), ("filter", "filter_renewed_on", "filter_lasts_months")],
)
def test_what_was_renewed_is_on_the_place_with_how_long_it_lasts(held, what, day, months):
    words = record_renewal(held, replace(SORBENT, what=what), held.read(), today=TODAY)

    row = held.read()["location"].filter(location_id="S1").row(0, named=True)
    assert words == f"Written down: {what} renewed on 31 October 2026."
    assert (row[day], row[months], row["name"]) == (date(2026, 10, 31), 6, "Shelf")


def test_how_long_it_lasts_stays_where_nothing_is_said_of_it(held):
    record_renewal(held, SORBENT, held.read(), today=TODAY)

    record_renewal(held, replace(SORBENT, renewed_on=TODAY, lasts_months=None), held.read(), today=TODAY)

    row = held.read()["location"].filter(location_id="S1").row(0, named=True)
    assert (row["sorbent_renewed_on"], row["sorbent_lasts_months"]) == (TODAY, 6)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"by": " "}, "First give your name."),
        ({"mended_on": date(2026, 11, 2)}, "still to come"),
        ({"mended_on": date(2026, 2, 10)}, "is before 11 February 2026"),
        ({"fault": "light"}, "no longer on record"),
    ],
)
def test_what_cannot_be_written_is_a_sentence(held, change, says):
    assert says in record_mended(held, replace(FAULT, **change), held.read(), today=TODAY)
    assert held.read()["place_check"]["mended_on"].to_list() == [None]


def test_who_is_second_is_told(held):
    seen = held.read()
    record_mended(held, FAULT, seen, today=TODAY)

    words = record_mended(held, replace(FAULT, mended_on=date(2026, 10, 1), by="Ben"), seen, today=TODAY)

    assert words.startswith("Nothing was written: somebody else changed it meanwhile")
    assert held.read()["place_check"]["mended_on"].to_list() == [date(2026, 10, 30)]


def test_how_long_it_lasts_is_a_number_of_months(held):
    assert "months" in record_renewal(held, replace(SORBENT, lasts_months=-1), held.read(), today=TODAY)
    assert held.read()["location"]["sorbent_lasts_months"].drop_nulls().is_empty()


def test_a_place_that_is_gone_is_said(held):
    assert "no longer on record" in record_renewal(held, replace(SORBENT, location_id="X"), held.read(), today=TODAY)
