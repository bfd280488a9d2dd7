"""What a decision covers, what ends it, and what only watches; when a thing on display is due."""

from datetime import date

import pytest

from collection.as_of import as_known
from collection.attention.intervals import due
from collection.facts.facts import Facts
from collection.risk.rates import RatesTable
from tests.collection.risk.builders import AS_OF, assessed, check, register, triaged

LEAVE = {
    "object_id": "O",
    "decided_on": date(2026, 7, 1),
    "choice": "leave",
    "reason": "sound",
    "review_on": date(2028, 1, 1),
}


def judged(**records):
    """Class and reasons of the object O, seen with two stable cracks on 1 June 2026."""
    rows = {
        "object": [{"object_id": "O", "height_mm": 100.0, "width_mm": 80.0}],
        "part": [{"object_id": "O", "part": "whole"}],
        "condition_check": [check("k", "O")],
        "damage": [{"damage_id": d, "object_id": "O", "part": "whole", "kind": "crack"} for d in "AB"],
        "observation": [{"check_id": "k", "damage_id": d, "activity": "stable", "compared_with": "x"} for d in "AB"],
    }
    collection = register(**rows | records)
    triage = triaged(collection)
    (row,) = triage.with_reasons(triage.objects).to_dicts()
    return row["attention"], row["reasons"]


def decision(number, **more):
    return LEAVE | {"decision_id": number} | more


def test_a_decision_about_one_damage_and_one_about_a_closed_one_do_not_cover_the_other():
    closed = [{"damage_id": "C", "object_id": "O", "part": "whole", "kind": "crack", "closed_on": date(2026, 6, 15)}]
    damage = [{"damage_id": d, "object_id": "O", "part": "whole", "kind": "crack"} for d in "AB"]

    named, _ = judged(damage=damage + closed, decision=[decision("1", damage_id="A"), decision("2", damage_id="C")])
    both, _ = judged(damage=damage + closed, decision=[decision("1", damage_id="A"), decision("2", damage_id="B")])

    assert named != "left"
    assert both == "left"


def test_a_decision_about_the_object_covers_all_that_was_seen():
    assert judged(decision=[decision("1")])[0] == "left"


@pytest.mark.parametrize(("starts", "expected"), [(date(2029, 1, 1), True), (date(2026, 8, 1), False)])
def test_a_loan_that_is_only_planned_ends_no_decision_and_one_that_has_begun_does(starts, expected):
    loan = {
        "loan": [{"loan_id": "L", "direction": "out"}],
        "loan_leg": [{"loan_id": "L", "leg": 1, "starts_on": starts, "ends_on": date(2030, 1, 1)}],
        "loan_object": [{"loan_id": "L", "object_id": "O", "part": "whole"}],
    }

    assert (judged(decision=[decision("1")], **loan)[0] == "left") is expected


def test_to_watch_a_thing_is_not_to_leave_it():
    term, why = judged(decision=[decision("1", choice="monitor", reason="weeping in 2019")])

    assert term == "monitor"
    assert any("weeping in 2019; think again on 1 January 2028" in reason for reason in why)


def months(**records):
    collection = as_known(register(object=[{"object_id": "O"}], **records), AS_OF)
    facts = Facts(collection, assessed(collection), RatesTable.of(collection))
    return due(facts).collect()["months"].item()


def test_a_thing_seen_in_its_case_is_on_display_until_it_is_moved_whoever_took_it_up_since():
    case = check("a", "O", "2026-01-01", look="sweep", visit="through_glass")
    in_hand = check("b", "O", "2026-03-01", look="sweep", visit="examined")
    moved = [{"move_id": "m", "object_id": "O", "moved_on": date(2026, 2, 1)}]

    assert months(condition_check=[case, in_hand]) == 12
    assert months(condition_check=[case, in_hand], move=moved) > 12
