"""The air of places beside what objects need, worked by hand: two rooms, one too damp, one right."""

from datetime import date, datetime, timedelta

import polars as pl
import pytest

from collection.questions.air import Air, needs, needs_in_words, out_now, out_now_sentence
from collection.questions.air_of_place import air_figures
from collection.questions.air_risk import air_risk, air_risk_sentence
from collection.questions.rooms import room_sentence, rooms, rooms_sentence
from collection.questions.spells import DAMP, HEAT, spells, spells_sentence, to_check, to_check_sentence
from collection.questions.wrong_place import conflicts, wrong_place, wrong_place_sentence
from tests.collection.questions.measured_rooms import FIRST, LOCATIONS, air, steady
from tests.collection.risk.builders import register, triaged


def test_shares_of_time_stand_at_each_reasoned_target_of_the_place():
    rows = needs(air(), "R1").select("target_id", "objects", "needs", "inside", "above", "days", "refused").rows()

    assert rows == [
        ("TA", 1, "40 to 50 %", 0.0, 1.0, 60.0, None),
        ("TR", 2, "55 to 65 %", 1.0, 0.0, 60.0, None),
    ]


def test_what_is_needed_in_words():
    assert needs_in_words(needs(air(), "R1"))[0] == (
        "TA: 40 to 50 %",
        "1 object; inside for 0 % of 60 days, above 100 %; because weeping glass",
    )
    assert needs_in_words(needs(air(), "R3")) == [("T3: up to 50 %", "1 object; nobody measures there; because steel")]


def test_what_nobody_measured_or_measured_too_shortly_is_not_told():
    short = air(steady("R1", 60.0, days=20, first=datetime(2026, 10, 10)))

    assert needs(short, "R1")["refused"].unique().to_list() == ["not enough measured: 20 days"]
    assert needs(short, "R3")["refused"].to_list() == ["nobody measures there"]
    assert needs(air(), "R2").is_empty()  # a room default has no reason and says nothing


def test_who_is_outside_now_and_since_when():
    """Right until 30 October, 60 % from then on: outside since the first hour of that day."""
    right = steady("R1", 45.0, days=58)
    rows = out_now(air(right, steady("R1", 60.0, days=2, first=datetime(2026, 10, 30)), steady("R2", 45.0)), "R1")

    assert rows.filter(target_id="TA").select("object_id", "outside_since").rows() == [("A", datetime(2026, 10, 30))]
    assert rows.filter(target_id="TR").is_empty()
    assert out_now_sentence(rows).startswith(
        "1 object is outside what it needs at the last reading, the longest since 30 October"
    )
    assert out_now_sentence(rows.clear()) == "At the last reading no object was outside what it needs."


def test_the_wrong_place_and_a_better_one():
    rows = wrong_place(air())

    assert rows.select("object_id", "place", "inside", "suits").rows() == [
        ("A", "Shelf 1", 0.0, "no place that is measured")
    ]
    alone = air()
    object.__setattr__(alone, "asked", alone.asked.filter(pl.col("target_id") == "TA"))
    assert wrong_place(alone).select("object_id", "suits").rows() == [("A", "Room 2")]
    assert wrong_place_sentence(wrong_place(alone)).endswith("1 has a better place measured.")


def test_two_targets_that_no_air_keeps_are_named_to_a_person():
    (row,) = conflicts(air()).rows(named=True)

    assert row == {
        "object_id": "A",
        "targets": "TA, TR",
        "words": "TR from 55 % up, TA up to 50 %",
        "set_by": "Ada, Ben",
    }


def test_damp_since_the_last_check_counts_by_days_and_heat_that_was_none_lists_nobody():
    """60 % is above the 45 % of weeping salts on each of the 60 days since the check; 45 % is not above it."""
    rows = to_check(air(), DAMP)

    assert rows.select("line", "object_id", "because", "days", "last_checked_on").rows() == [
        (1, "A", "above 45 %", 60.0, date(2026, 9, 1))
    ]
    assert to_check_sentence(rows, DAMP).startswith("1 object to check first")
    assert to_check(air(), HEAT).is_empty()


def test_readings_change_the_risk_of_what_lies_there_and_it_is_said_by_how_much():
    """A year at 44 %, then 60 % from the day after the check: above 45 % weeping goes ten times as fast (climate_response.toml)."""
    before = steady("R1", 44.0, days=366, first=datetime(2025, 9, 1))
    gone_damp = air(before, steady("R1", 60.0))
    (row,) = air_risk(gone_damp.triage, "H").rows(named=True)

    assert (row["object_id"], row["place"], row["times_faster"]) == ("A", "Shelf 1", pytest.approx(10))
    assert row["collection_loss"] == pytest.approx(10 * row["loss_in_former_air"])
    assert air_risk_sentence(air_risk(gone_damp.triage)).startswith(
        "In the air since the last checks 1 object loses faster than in the air of the year before: in all about 900 % more,"
    )
    assert air_risk(gone_damp.triage, "R2").is_empty()


def test_air_that_stayed_as_it_was_changes_no_risk():
    as_before = air(steady("R1", 60.0, days=427, first=datetime(2025, 9, 1)))

    assert air_risk(as_before.triage).is_empty()
    assert air_risk_sentence(air_risk(as_before.triage)).startswith(
        "The air since the last checks changes no rate here"
    )


def test_a_spell_ends_after_days_within_the_limit_and_the_worst_comes_first():
    """Ten days at 60 %, ten at 44 %, five at 50 %: two spells, 150 and 25 % x days beyond 45 %."""
    days = ((60.0, 10), (44.0, 10), (50.0, 5))
    parts, first = [], FIRST
    for rh, count in days:
        parts.append(steady("R1", rh, count, first=first))
        first += timedelta(days=count)

    dust = {
        "location_id": "R1",
        "fault": "dust",
        "seen_on": date(2026, 9, 5),
        "mended_on": date(2026, 9, 6),
        "note": "swept",
    }
    rows = spells(air(*parts, place_check=[dust]), "S1")

    assert rows.select("kind", "starts", "ends", "days", "peak", "excess").rows() == [
        (DAMP, date(2026, 9, 2), date(2026, 9, 11), 10, 60.0, 150.0),
        (DAMP, date(2026, 9, 22), date(2026, 9, 26), 5, 50.0, 25.0),
    ]
    assert (
        spells_sentence(rows)
        == "The worst: 10 days above 45 %, 2 September 2026 to 11 September 2026, up to 60 %. On record then: Dust, swept, mended 6 September 2026."
    )


def test_a_room_in_a_row_and_in_a_sentence():
    its = air()
    rows = rooms(its, "H")

    assert rows.select("location_id", "inside", "air", "faults", "due").sort("location_id").rows() == [
        ("R1", 0.0, "Room 1", 0, 1),
        ("R2", None, "Room 2", 0, 0),
        ("R3", None, None, 0, 0),
    ]
    assert (
        "its air was inside what 1 object needs (40 to 50 %) for under 0.01 % of the last twelve months"
        in room_sentence(its, "R1")
    )
    assert "nothing can be said of its air: nobody measures there" in room_sentence(its, "R3")
    assert "no target with a reason applies here" in room_sentence(its, "R2")
    assert "No proposal to mend this place is open." in rooms_sentence(its, rows)


def test_figures_have_their_days_their_method_or_a_reason():
    """18 °C and 60 %: γ = ln .6 + 17.62·18/261.12 = .703788, dew point 243.12γ/(17.62 − γ) = 10.115 °C."""
    rows = {r["what"]: r for r in air_figures(air(), "R1").to_dicts()}

    humid, dew, season = (rows[n] for n in ("relative humidity", "dew point", "seasonal band of humidity"))
    assert (humid["low"], humid["value"], humid["high"], humid["n"]) == (60, 60, 60, 60)
    assert dew["value"] == pytest.approx(10.115, abs=5e-4)
    assert rows["relative humidity within 24 h"]["value"] == 0
    assert rows["inside TA (40 to 50 %)"]["value"] == 0
    assert season["refused"] == "no object there has an organic mount or core on record"
    assert all(r["refused"] for r in air_figures(air(), "R3").to_dicts())


def test_the_seasonal_band_needs_thirteen_months_and_an_organic_part():
    organic = [{"object_id": "B", "part": "base", "part_kind": "organic"}]
    short = air(steady("R1", 60.0))
    its = Air(
        triaged(register(location=LOCATIONS, object=[{"object_id": "B", "location_id": "R1"}], part=organic)),
        short.hours,
    )

    (figure,) = air_figures(its, "R1").filter(what="seasonal band of humidity").rows(named=True)

    assert "of the hours are missing" in figure["refused"]
