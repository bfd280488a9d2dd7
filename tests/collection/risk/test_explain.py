"""`explain` alone gives the number again, and says what a person would say."""

import json
import math
from itertools import pairwise

import pytest

from collection.questions.explain import EXPLAINED, explain, risk_sentence
from tests.benchmarks.made_up import AS_OF, made_up
from tests.collection.risk.builders import check, register, triaged


def recomputed(printed: str) -> float:
    """The annual loss from the printed rows alone, as section 3 of the design writes it."""
    apart: dict[str, float] = {}
    spots: dict[str, list[tuple[float, float]]] = {}
    share: dict[str, float] = {}
    for row in json.loads(printed):
        rate = row["modifier"] * row["quiet_factor"] / row["years_likely"] + row["handling_rate"]
        assert rate == pytest.approx(row["loss_rate"], rel=1e-14)
        reach = 1 - (1 - row["affected_share"]) ** row["visibility"]
        share[row["part"]] = row["part_share"]
        if row["nested"]:
            spots.setdefault(row["part"], []).append((reach, rate * row["loss_depth"]))
        else:
            log = math.log1p(reach * math.expm1(-rate * row["loss_depth"]))
            apart[row["part"]] = apart.get(row["part"], 0.0) + log
    logs = {part: apart.get(part, 0.0) + math.log1p(-union(spots.get(part, []))) for part in share}
    return sum(share[part] * -math.expm1(log) for part, log in logs.items())


def union(spot: list[tuple[float, float]]) -> float:
    """What areas in each other lose together: each ring with all that lie over it."""
    largest_first = [*sorted(spot, reverse=True), (0.0, 0.0)]
    lost = gone = 0.0
    for (reach, exponent), (inner, _) in pairwise(largest_first):
        gone += exponent
        lost += (reach - inner) * -math.expm1(-gone)
    return lost


def test_contributions_sum_to_1_and_the_printed_rows_give_the_number_for_every_object():
    triage = triaged(made_up(300, 3000, 600), AS_OF)
    with_hazards = triage.risk.objects.filter(triage.risk.objects["hazards"] > 0)
    assert with_hazards.height > 200
    assert triage.risk.hazards["nested"].any()

    for object_id, annual_loss in with_hazards.select("object_id", "annual_loss").iter_rows():
        rows = explain(triage, object_id)
        assert rows.schema == EXPLAINED
        assert rows["contribution"].sum() == pytest.approx(1, abs=1e-9)
        assert recomputed(rows.write_json()) == pytest.approx(annual_loss, rel=1e-9)


def gable(**more):
    """A casket of several parts, one of them lifting."""
    records = {
        "object": [{"object_id": "K"}, {"object_id": "N"}],
        "part": [
            {"object_id": "K", "part": "gable plaque", "value_share": 0.1},
            {"object_id": "K", "part": "body", "value_share": 0.9},
            {"object_id": "N", "part": "whole"},
        ],
        "condition_check": [check("k", "K", "2024-05-02")],
        "damage": [{"damage_id": "d", "object_id": "K", "part": "gable plaque", "kind": "lifting"}],
        "observation": [{"check_id": "k", "damage_id": "d", "activity": "active", "extent_band": "from_25_to_50"}],
    }
    return triaged(register(**records | more))


def test_the_sentence_is_one_a_person_would_say():
    (row,) = explain(gable(), "K").to_dicts()

    # 0.1 x 0.35 x (1 - exp(-0.3)) = 0.0090714
    assert row["words"] == (
        "active lifting on the gable plaque, seen 2 May 2024: about 0.91 % of the object's value a year; "
        "about 1 year to the next loss (1 to 3; starting value, judgement)"
    )
    assert row["assumed"] == ""


def test_what_was_assumed_is_named():
    triage = gable(observation=[{"check_id": "k", "damage_id": "d", "activity": None, "count": 2}])

    (row,) = explain(triage, "K").to_dicts()

    assert row["assumed"] == "its state, its size"


def test_sentences_of_one_object():
    triage = gable()

    assert risk_sentence(triage, "K").startswith("about 0.91 % of this object's value a year, if nothing is done")
    assert risk_sentence(triage, "N").startswith(
        "not yet checked; judged by its kind, about 0.12 % of its value a year"
    )


def test_an_object_without_hazards_explains_nothing():
    rows = explain(gable(), "N")

    assert rows.schema == EXPLAINED
    assert rows.is_empty()
