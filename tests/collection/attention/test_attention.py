"""One object a rule and a way it lapses: the class, the reason and, where it matters, the first step expected of each."""

import pytest

from collection.attention.first_steps import first_steps
from schemas.vocabularies import vocabulary
from tests.collection.attention.cases import (
    MUCH,
    damage,
    danger,
    together,
    triage_of,
)  # fmt: skip
from tests.collection.attention.rules_by_case import CASES, LIFTING, SECURE, STEPS


@pytest.fixture(scope="module")
def triage():
    return triage_of({name: records for name, (records, _, _) in CASES.items()})


@pytest.fixture(scope="module")
def answers(triage):
    rows = triage.with_reasons(triage.objects).to_dicts()
    assert len(rows) == len(CASES) == len({row["object_id"] for row in rows})
    return {row["object_id"]: row for row in rows}


@pytest.mark.parametrize("name", CASES)
def test_each_object_has_the_class_and_the_reason_expected(name, answers):
    _, expected, words = CASES[name]
    row = answers[name]

    assert row["attention"] == expected, row["reasons"]
    assert any(words in reason for reason in row["reasons"]), row["reasons"]


def test_every_class_occurs(answers):
    assert {row["attention"] for row in answers.values()} == set(vocabulary("attention").term)


def test_every_reason_has_a_step_and_every_step_a_case(triage):
    steps = triage.all_reasons["step_no"]

    assert steps.null_count() == 0
    assert sorted(set(range(len(first_steps()))) - set(steps)) == []


@pytest.mark.parametrize("name", STEPS)
def test_the_first_step_hangs_on_the_reason(name, answers):
    assert answers[name]["steps"][0].startswith(STEPS[name])


def test_within_a_class_dangers_then_loose_pieces_then_what_the_collection_loses(triage):
    secure = triage.objects.filter(attention=SECURE)
    first = [name for name in secure["object_id"] if name.startswith("danger")]

    assert secure["object_id"].to_list()[: len(first)] == first
    assert secure["turn"].is_sorted()
    assert "loose fragment as a piece" in secure.filter(turn=1)["object_id"].to_list()
    for part in secure.partition_by("turn"):
        assert part["collection_loss"].round_sig_figs(12).is_sorted(descending=True)


def test_two_largest_causes_come_first(triage):
    """A danger before all else; then by what each takes."""
    both = triage_of({"X": together(LIFTING, danger(), damage("flaking", "active", "E{o}", **MUCH))})
    reasons = both.with_reasons(both.objects)["reasons"].item().to_list()

    assert [reason.split(",")[0].split(":")[0] for reason in reasons] == [
        "danger to people not yet made safe", "active flaking", "active lifting",
    ]  # fmt: skip


def test_an_unknown_rule_is_an_error_with_its_dotted_key(monkeypatch):
    from collection.attention import classify as module
    from schemas.errors import VocabularyError

    monkeypatch.setattr(module, "RULES", {})

    with pytest.raises(VocabularyError, match="attention.toml, term.act_secure.rule"):
        module._rules()
