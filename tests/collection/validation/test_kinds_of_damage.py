"""Kinds of damage as they are judged: the words of the trade, a kind without rates, flaws of firing."""

import pytest

from collection.validation.validate import validate
from tests.collection.validation.rows import EMPTY, TODAY, outcomes, rows


def test_a_kind_of_damage_without_a_row_of_rates_is_said_and_stops_nothing(monkeypatch):
    from collection.validation.rules import cross_record, deferred

    def lacking(name, load=cross_record.load_parameters):
        whole = dict(load(name))
        if name == "rates":
            whole["rate"] = {kind: row for kind, row in whole["rate"].items() if kind != "lifting"}
        return whole

    monkeypatch.setattr(cross_record, "load_parameters", lacking)
    monkeypatch.setattr(deferred, "load_parameters", lacking)
    delivery = {
        "object": rows(object_id=["V.1"]),
        "condition_check": rows(
            check_id=["C.1"], object_id=["V.1"], checked_on=["2026-05-02"], look=["inspection"], grade=["fair"]
        ),
        "damage": rows(damage_id=["D.1"], object_id=["V.1"], kind=["lifting"]),
        "observation": rows(check_id=["C.1"], damage_id=["D.1"], activity=["active"]),
    }

    result = validate(delivery, EMPTY, today=TODAY)

    assert {outcome for _, _, outcome in outcomes(result)} == {"new"}
    asked = result.problems.filter(record="observation").select("rule", "value", "level").rows()
    assert asked == [("kind_without_rates", "lifting", "ask")]


@pytest.mark.parametrize(
    ("kind", "origin", "asked"),
    [("pinhole", "in_use", ["flaw_that_happened"]), ("pinhole", "manufacture", []), ("pinhole", None, []),
     ("fishscale", "uncertain", []), ("chip", "in_use", [])],
)  # fmt: skip
def test_a_flaw_of_firing_that_happened_in_use_is_asked_about_and_needs_no_rates(kind, origin, asked):
    delivery = {
        "object": rows(object_id=["V.1"]),
        "condition_check": rows(
            check_id=["C.1"], object_id=["V.1"], checked_on=["2026-05-02"], look=["inspection"], grade=["good"]
        ),
        "damage": rows(damage_id=["D.1"], object_id=["V.1"], kind=[kind], origin=[origin]),
        "observation": rows(check_id=["C.1"], damage_id=["D.1"], activity=["unknown"], severity=["minor"]),
    }

    result = validate(delivery, EMPTY, today=TODAY)

    assert {outcome for _, _, outcome in outcomes(result)} == {"new"}
    assert result.problems.filter(level="ask")["rule"].to_list() == asked


@pytest.mark.parametrize(("kind", "floor"), [("chip", True), ("pinhole", False), ("part_missing", False)])
def test_a_flaw_of_firing_does_not_weigh_on_the_grade(kind, floor):
    delivery = {
        "object": rows(object_id=["V.1"]),
        "condition_check": rows(
            check_id=["C.1"], object_id=["V.1"], checked_on=["2026-05-02"], look=["inspection"], grade=["good"]
        ),
        "damage": rows(damage_id=["D.1"], object_id=["V.1"], kind=[kind]),
        "observation": rows(check_id=["C.1"], damage_id=["D.1"], activity=["unknown"], severity=["critical"]),
    }

    problems = validate(delivery, EMPTY, today=TODAY).problems

    assert ("grade_above_floor" in problems["rule"].to_list()) is floor


@pytest.mark.parametrize(
    ("written", "kind"), [("spalling", "flaking"), ("Delamination", "lifting"), ("cupping", "lifting"), ("shelling", "chip"), ("bruise", "chip"), ("tented", "tenting")]
)  # fmt: skip
def test_a_kind_is_understood_by_the_words_the_trade_has_for_it(written, kind):
    delivery = {"object": rows(object_id=["V.1"]), "damage": rows(damage_id=["D.1"], object_id=["V.1"], kind=[written])}

    assert validate(delivery, EMPTY, today=TODAY).accepted["damage"]["kind"].to_list() == [kind]
