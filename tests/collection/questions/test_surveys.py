"""Surveys as the pages and commands tell of them: on records, in words, with what cannot be told."""

from datetime import date

import polars as pl
import pytest

from collection.questions import agreement, surveys
from collection.questions.survey_plan import (
    frame_of,
    groups_of,
    known_of_groups,
    margins_of,
    plan_sentence,
    survey_sheet,
    survey_walk,
)
from collection.surveys.design import Design
from collection.surveys.outcomes import Progress
from collection.surveys.results import NO_CHANCES
from tests.collection.risk.builders import check, register, triaged

DAY = date(2026, 7, 1)
OBJECTS = 12
PLACES = [{"location_id": "L1", "kind": "room", "name": "Lower room"}, {"location_id": "L2", "kind": "room"}]
SURVEY = {"survey_id": "S", "question": "Is anything loose?", "starts_on": date(2026, 6, 1)}


def records(**more):
    """Twelve objects, half of them in each room; the first eight are drawn, of which six were looked at."""
    return {
        "location": PLACES,
        "object": [
            {"object_id": f"O{n:02}", "title": f"Plate {n}", "location_id": PLACES[n % 2]["location_id"],
             "technique": ["painted"] if n < 6 else ["champleve"], "value_points": float(n + 1)} for n in range(OBJECTS)
        ],
        "survey": [{**SURVEY, "selection": "random", "sampling": "simple", "confidence": 0.9}],
        "survey_unit": [
            {"survey_id": "S", "unit_id": f"O{n:02}", "chance": 8 / 12, "draw_order": n + 1} for n in range(8)
        ],
        "condition_check": [
            check(f"k{n}", f"O{n:02}", "2026-06-10", survey_id="S", grade="poor" if n < 2 else "good", examiner="Ida",
                  visit="not_found" if n == 5 else "examined", minutes=20.0) for n in range(6)
        ],
        "damage": [{"damage_id": "D", "object_id": "O00", "part": "whole", "kind": "lifting"}],
        "observation": [{"check_id": "k0", "damage_id": "D", "activity": "active", "area_mm2": 5.0}],
    } | more  # fmt: skip


def triage(**more):
    return triaged(register(**records(**more)), DAY)


def test_every_survey_with_how_far_it_is():
    (row,) = surveys.surveys(triage()).to_dicts()

    assert (row["drawn"], row["done"], row["waiting"], row["not_seen"]) == (8, 5, 2, 1)
    assert row["how"] == "At random, Simple"


def test_shares_of_all_from_those_that_were_looked_at():
    """2 of 5 poor, exact limits at .9 .076 to .811 (Clopper and Pearson, computed); of 6 known between 2/6 and 3/6."""
    rows = {r["measure"]: r for r in surveys.estimates(triage(), "S").to_dicts()}
    poor = rows["graded poor or worse"]

    assert (poor["affected"], poor["n"], poor["not_seen"], poor["value"]) == (2, 5, 1, 0.4)
    assert (poor["low"], poor["high"]) == (pytest.approx(0.0764, abs=5e-5), pytest.approx(0.8107, abs=5e-5))
    assert (poor["least"], poor["most"]) == (pytest.approx(2 / 6), pytest.approx(3 / 6))
    assert rows["with active damage"]["affected"] == 1
    assert surveys.result_sentence(poor, 0.9) == (
        "Graded poor or worse: 40 % (7.6 % to 81 %; 90 % limits) of all that could be drawn, from 5 checked; 2 of 5,"
        " and between 33 % and 50 % of those drawn whatever the 1 are that could not be seen."
    )


def test_a_survey_of_before_tells_only_of_its_checks_or_refuses():
    took_all = triage(survey=[{**SURVEY, "selection": "whole"}], survey_unit=[])
    (row, *_) = surveys.estimates(took_all, "S").to_dicts()
    assert (row["n"], row["value"]) == (5, 0.4)
    assert row["method"].endswith(surveys.WITHOUT_UNITS)
    chosen = triage(survey=[{**SURVEY, "selection": "worst_first"}], survey_unit=[])
    assert set(surveys.estimates(chosen, "S")["refused"]) == {NO_CHANCES}
    assert "no figure, since chances" in surveys.result_sentence(
        surveys.estimates(chosen, "S").row(0, named=True), 0.95
    )


def test_one_reason_for_no_figure_is_said_once():
    chosen = triage(survey=[{**SURVEY, "selection": "worst_first"}], survey_unit=[])

    (words,) = surveys.results_in_words(surveys.estimates(chosen, "S"), 0.95)

    assert words.startswith(f"No figure for all that could be drawn, since {NO_CHANCES}. Of those checked: graded ")
    assert "; graded poor or worse 2 of 5, and between" in words
    assert words.count(NO_CHANCES) == 1


def test_a_sweep_says_nothing_of_each_damage():
    swept = [row | {"look": "sweep"} for row in records()["condition_check"]]

    assert "with active damage" not in surveys.estimates(triage(condition_check=swept), "S")["measure"].to_list()


@pytest.mark.parametrize(
    ("its", "words"),
    [
        (Progress(0, 0, 0, None, None, None), "Nobody was drawn, and no check names this survey."),
        (Progress(8, 8, 0, None, None, None), "Of 8 objects drawn 8 were checked."),
        (Progress(8, 1, 6, date(2026, 8, 1), date(2026, 7, 1), None),
         "Of 8 objects drawn 1 was checked, 1 could not be, 6 wait; at this pace it ends about 1 August 2026"
         " (1 July 2026 to nobody can say when)."),
    ],
)  # fmt: skip
def test_how_far_it_is_in_words(its, words):
    assert surveys.progress_sentence(its) == words


def test_groups_are_made_by_technique_room_or_value_and_what_is_away_is_not_drawn():
    away = [row | ({"status": "disposed"} if n == 0 else {}) for n, row in enumerate(records()["object"])]
    its = triage(object=away)
    frames = {by: frame_of(its, its.objects, by) for by in ("technique", "place", "value", "")}

    assert frames["place"].height == OBJECTS - 1
    assert dict(frames["place"].group_by("stratum").len().iter_rows()) == {"Lower room": 5, "L2": 6}
    assert frames["technique"]["stratum"].n_unique() == 2
    assert frames["value"].group_by("stratum").len()["len"].max() == 4
    assert frames[""]["stratum"].null_count() == OBJECTS - 1


def test_what_earlier_checks_say_of_a_group_counts_from_ten_on():
    its = triage()
    frame = frame_of(its, its.objects, "technique")
    assert known_of_groups(its, frame)["share"].null_count() == 2
    many = [check(f"m{n}", f"O{n % 6:02}", "2026-06-20", grade="good", minutes=30.0) for n in range(12)]
    timed = triage(condition_check=records()["condition_check"] + many)
    assert known_of_groups(timed, frame).filter(stratum="Painted enamel")["minutes"].to_list() == [
        pytest.approx((12 * 30 + 6 * 20) / 18)
    ]
    rows = groups_of(timed, frame, Design("stratified", 0.05, 0.95, size=6))
    assert rows["drawn"].sum() == 6
    assert set(rows["cost"]) == {1.0}, "one group without minutes: a check costs alike everywhere"


def test_the_walk_and_the_sheet_hold_what_nobody_looked_at_yet():
    its = triage()

    assert survey_walk(its, "S")["object_id"].to_list() == ["O07", "O06"], "L2 stands before Lower room"
    assert set(survey_walk(its, "S")["step"]) == {"check it"}, "whatever the list would let wait"
    sheet = survey_sheet(its, "S")
    assert sheet["check_id"].to_list() == ["S-8", "S-7"]
    assert set(sheet["look"]) == {"inspection"}
    assert sheet["grade"].null_count() == 2


def test_how_many_in_words():
    assert plan_sentence(640, Design("simple", 0.05, 0.95)).startswith(
        "241 of 640 objects give a share to within 5 % either way, in 95 of 100 such surveys"
    )
    assert "Drawn by places" in plan_sentence(640, Design("clusters", 0.05, 0.95))
    assert plan_sentence(10, Design("whole", 0.05, 0.95)).startswith("All 10 objects")
    assert plan_sentence(0, Design("simple", 0.05, 0.95)) == "There is no object to draw from."
    assert margins_of(0, Design("simple", 0.05, 0.95)).is_empty()
    assert margins_of(640, Design("simple", 0.05, 0.95))["margin"][-1] == 0


def test_examiners_of_a_survey_are_compared_with_whoever_looked_within_the_days():
    twice = [check(f"t{n}", f"O{n:02}", "2026-06-20", grade="good", examiner="Bo") for n in range(5)]
    its = triage(condition_check=records()["condition_check"] + twice)

    mine = agreement.agreed(its, "S")
    assert (mine.its.objects, mine.its.examiners, mine.apart.height) == (5, 2, 2)
    assert agreement.agreement_sentence(mine.its) == (
        "2 people graded 5 objects twice or more within 30 days: no measure of agreement, since fewer than 20 objects"
        " were graded by two people."
    )
    assert agreement.agreed(its, "T").its.objects == 0
    assert pl.DataFrame(agreement.figure(mine.its)).columns[:6] == ["value", "low", "high", "n", "method", "refused"]
