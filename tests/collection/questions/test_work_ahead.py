"""Work to come and work done, on registers small enough to count by hand."""

from datetime import date

import numpy as np
import polars as pl
import pytest

from collection.questions import work_ahead
from collection.questions.work_ahead import NONE, NOW, TWICE, Ahead
from tests.collection.planning.museum import house, option
from tests.collection.risk.builders import check, register, triaged

DAYS = ("2020-06-01", "2024-06-01")  # four years apart, to the day


def watched(options=1, **more):
    """Four objects with one stable crack each at two checks; one of them moves at the second."""
    objects = "ABCD"
    return triaged(
        register(
            object=[{"object_id": o, "enamel_area_mm2": 10_000.0, "status": "in_collection"} for o in objects],
            condition_check=[check(f"{o}{n}", o, day) for o in objects for n, day in enumerate(DAYS)],
            damage=[
                {"damage_id": f"D{o}", "object_id": o, "part": "whole", "kind": "crack", "visibility": "front"}
                for o in objects
            ],
            observation=[
                {"check_id": f"{o}{n}", "damage_id": f"D{o}", "length_mm": 10.0}
                | {"activity": "active" if (o, n) == ("A", 1) else "stable"}
                for o in objects
                for n in (0, 1)
            ],
            option=[option(f"A{n}", "A", 10.0, 0) for n in range(options)],
            **more,
        )
    )


def test_what_turns_into_work_is_counted_in_the_museums_own_checks():
    """One of four moved in 16 years: (1/2 + 1)/16 for the three at rest; no new damage in 16: (1/2)/16 for four objects."""
    rows = work_ahead.sources(watched())

    assert rows.sort("exposure").to_numpy() == pytest.approx(
        np.array([[3.0, 1.5 / 16, 1.5, 16.0], [4.0, 0.5 / 16, 0.5, 16.0]]), rel=1e-3
    )


def test_events_for_which_nothing_was_proposed_make_no_job():
    assert work_ahead.sources(watched(options=0))["exposure"].to_list() == [0, 0]


def test_what_is_not_known_is_not_reckoned():
    assert work_ahead.ahead(watched()) is None  # no hours a year, one estimate
    assert work_ahead.ahead(house()) is None  # nobody checked anything twice


def test_what_waits_what_comes_and_what_is_done():
    hours = [
        {"year": 2027, "skill": "enamel_conservator", "hours": 30.0},
        {"year": 2027, "skill": "technician", "hours": 9.0},
    ]
    its = work_ahead.ahead(watched(options=2, year_hours=hours))

    assert its.done_a_year == 30  # those of the skill that treatments need
    assert its.waits == 10  # of one object's proposals one
    assert its.jobs == pytest.approx(3 * 1.5 / 16 + 4 * 0.5 / 16, rel=1e-3)
    assert its.hours == pytest.approx(its.jobs * 11.5)  # ten hours and documentation
    assert its.coming.shape == (400, 10)


def by_hand(coming, waits=100.0, done=50.0):
    return Ahead(2.0, 40.0, np.asarray(coming, dtype=float), waits, done)


def test_three_budgets_side_by_side():
    rows = work_ahead.waiting_ahead(house(), by_hand([[40.0, 40.0], [40.0, 40.0]]))
    waiting = {name: its["waiting"].to_list() for (name,), its in rows.group_by("budget", maintain_order=True)}

    assert waiting == {NONE: [100, 140, 180], NOW: [100, 90, 80], TWICE: [100, 40, 0]}
    assert rows["year"].unique().to_list() == [2026, 2027, 2028]


def test_when_it_starts_to_shrink_is_said_for_each_budget():
    words = work_ahead.shrinks_sentence(house(), by_hand([[60.0, 45.0], [60.0, 50.0]]))

    assert words == (
        "With no hours it does not shrink within 2 years; with the hours on record, 50 a year, it starts to shrink in 2028 (in 50"
        " of 100 draws); with twice the hours, 100 a year, it starts to shrink in 2027 (in 100 of 100 draws)."
    )


def test_the_years_before_from_treatments_and_decisions():
    treatments = [
        {"treatment_id": "T1", "object_id": "A", "finished_on": date(2024, 3, 1), "hours": 5.0},
        {"treatment_id": "T2", "object_id": "B", "finished_on": date(2024, 9, 1), "hours": 7.0},
        {"treatment_id": "T3", "object_id": "B", "started_on": date(2025, 9, 1)},
    ]
    decisions = [
        {"decision_id": "d1", "object_id": "A", "decided_on": date(2025, 1, 1), "choice": "treat", "reason": "moves"},
        {"decision_id": "d2", "object_id": "B", "decided_on": date(2025, 1, 1), "choice": "leave", "reason": "quiet"},
    ]
    its = watched(treatment=treatments, decision=decisions)

    assert work_ahead.past(its, its.objects).rows() == [(2024, 2, 12.0, 0), (2025, 0, 0.0, 1)]
    assert work_ahead.past(its, its.objects.filter(pl.col("object_id") == "A")).rows() == [
        (2024, 1, 5.0, 0), (2025, 0, 0.0, 1)
    ]  # fmt: skip
