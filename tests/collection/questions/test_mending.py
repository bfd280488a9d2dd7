"""What mending a place would prevent, its faults and its upkeep, worked by hand on two rooms."""

from datetime import date, datetime

import polars as pl
import pytest

from collection.questions.mending import (
    DUE,
    LATER,
    UNKNOWN,
    faults_open,
    fed_by_place,
    mending,
    mending_sentence,
    upkeep,
    upkeep_sentence,
)
from tests.collection.questions.measured_rooms import air, steady

OPTION = {"option_id": "P1", "location_id": "R1", "aim": "preventive", "steps": ["microclimate"], "status": "open"}


def test_mending_halves_what_the_climate_feeds():
    """One object weeps in the room; an option halves its group: what is prevented is the loss at the mean rate less
    that at half of it, each 1 - exp of its own logarithm."""
    its = air(
        option=[OPTION], location_effect=[{"option_id": "P1", "hazard_group": "weeping_salts", "rate_factor": 0.5}]
    )
    (row,) = mending(its.triage, "R1").rows(named=True)
    (hazard,) = its.triage.risk.hazards.filter(pl.col("object_id") == "A").rows(named=True)

    gone = [1 - 2.718281828459045 ** (-hazard["mean_loss_rate"] * f * hazard["loss_depth"]) for f in (1.0, 0.5)]
    kept = hazard["part_share"] * hazard["reach"] * (gone[0] - gone[1]) * 0.25
    assert row["prevented"] == pytest.approx(kept, abs=1e-9)
    assert row["objects"] == 1
    assert mending(its.triage, "R2").is_empty()
    assert mending_sentence(mending(its.triage)).startswith(
        "Mend this: microclimate in Room 1 (P1): 1 object would be safer; it prevents about 0.055 %"
    )
    assert mending_sentence(mending(its.triage, "R2")) == "No proposal to mend this place is open."


def test_what_a_worse_climate_takes_is_told_of_its_room():
    before = steady("R1", 42.0, days=60, first=datetime(2026, 6, 1))
    its = air(before, steady("R1", 60.0), steady("R2", 45.0))

    assert fed_by_place(its.triage, "R1") > 0
    assert fed_by_place(its.triage, "R2") == 0


def test_faults_stay_open_until_somebody_mended_them():
    seen = {"location_id": "S1", "fault": "dust", "seen_on": date(2026, 10, 1)}
    its = air(place_check=[seen, {**seen, "fault": "light", "mended_on": date(2026, 10, 5)}])

    rows = faults_open(its.triage, "R1").select("location_id", "fault", "words", "objects").rows()

    assert rows == [("S1", "dust", "Dust", 1)]
    assert faults_open(its.triage, "R2").is_empty()


def test_sorbent_and_filters_are_due_when_they_no_longer_last():
    """Renewed 31 January for six months: due 31 July 2026; twelve months from 1 August 2026: later."""
    rows = upkeep(air().triage)

    assert rows.select("location_id", "what", "due_on", "state").rows() == [
        ("S1", "sorbent", date(2026, 7, 31), DUE),
        ("R3", "sorbent", None, UNKNOWN),
        ("R2", "filter", date(2027, 8, 1), LATER),
    ]
    assert upkeep_sentence(rows, date(2026, 11, 1)) == "1 of 3 is due; the longest since 31 July 2026."
