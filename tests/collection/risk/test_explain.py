"""`explain` alone gives the number again."""

import json
import math

import pytest

from collection.as_of import as_known
from collection.pipeline import assess
from collection.questions.explain import EXPLAINED, explain, risk_summary
from collection.risk.rates import RatesTable
from collection.store.engines import PolarsEngine
from tests.benchmarks.made_up import AS_OF, made_up
from tests.collection.risk.builders import assessed, check, register


def recomputed(printed: str) -> float:
    """The annual loss from the printed rows alone, as section 3 writes it."""
    kept: dict[str, float] = {}
    share: dict[str, float] = {}
    for row in json.loads(printed):
        rate = row["modifier"] / row["years_likely"] + row["handling_rate"]
        assert rate == row["loss_rate"]
        reach = 1 - (1 - row["affected_share"]) ** row["visibility"]
        log = math.log1p(reach * math.expm1(-rate * row["loss_depth"]))
        kept[row["part"]] = kept.get(row["part"], 0.0) + log
        share[row["part"]] = row["part_share"]
    return sum(share[part] * -math.expm1(log) for part, log in kept.items())


def test_contributions_sum_to_1_and_the_printed_rows_give_the_number_for_every_object():
    collection = made_up(300, 3000, 600)
    rates = RatesTable.of(collection)
    risk = assess(as_known(collection, AS_OF), rates, PolarsEngine())
    found = risk.objects.filter(risk.objects["hazards"] > 0)
    assert found.height > 200

    for object_id, annual_loss in found.select("object_id", "annual_loss").iter_rows():
        rows = explain(object_id, risk.hazards, rates)
        assert rows.schema == EXPLAINED
        assert rows["contribution"].sum() == pytest.approx(1, abs=1e-9)
        assert recomputed(rows.write_json()) == pytest.approx(annual_loss, rel=1e-12)


def gable():
    """A casket of several parts, one of them lifting."""
    return register(
        object=[{"object_id": "K"}, {"object_id": "N"}],
        part=[
            {"object_id": "K", "part": "gable plaque", "value_share": 0.1},
            {"object_id": "K", "part": "body", "value_share": 0.9},
            {"object_id": "N", "part": "whole"},
        ],
        condition_check=[check("k", "K", "2024-05-02")],
        damage=[{"damage_id": "d", "object_id": "K", "part": "gable plaque", "kind": "lifting"}],
        observation=[{"check_id": "k", "damage_id": "d", "activity": "active", "extent_band": "from_25_to_50"}],
    )


def test_the_sentence_is_one_a_person_would_say():
    collection = gable()
    risk = assessed(collection)

    (row,) = explain("K", risk.hazards, RatesTable.of(collection)).to_dicts()

    # 0.1 x 0.35 x (1 - exp(-0.3)) = 0.0090714
    assert row["words"] == (
        "active lifting on the gable plaque, seen 2024-05-02: about 0.91 % of the object's value a year; "
        "years 1 to 3 (starting value, judgement)"
    )
    assert row["assumed"] == ""


def test_what_nobody_has_seen_stands_risk_summary():
    collection = gable()
    risk = assessed(collection)
    rates = RatesTable.of(collection)

    (seen,) = risk_summary("K", risk, rates)["words"]
    (never,) = risk_summary("N", risk, rates)["words"]

    assert seen.startswith("about 0.91 % of this object's value a year, if left; beside it, less than 0.001 % a year")
    # chance 0.1, prior worth 10, one object of the group checked and active: (1 + 1) / 11 x 0.001
    assert (
        never
        == "nobody has looked at it; beside it, about 0.018 % a year from what nobody has seen; its value is assumed"
    )


def test_an_object_without_hazards_explains_nothing():
    collection = gable()

    rows = explain("N", assessed(collection).hazards, RatesTable.of(collection))

    assert rows.schema == EXPLAINED
    assert rows.is_empty()
