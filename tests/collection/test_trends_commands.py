"""`trends` and `repairs`: the answer first, every estimate with limits, number and method, or the reason why not."""

import json

import pytest

from schemas.errors import NotFound, WrongUsage
from tests.words import not_to_be_read

pytestmark = pytest.mark.usefixtures("assessed_once")

ESTIMATE = {"value", "low", "high", "n", "method", "refused"}


@pytest.fixture
def asked(enamels, monkeypatch, demonstration):
    """Run a command on the demonstration."""

    def run(*arguments: str) -> tuple[int, str, str]:
        monkeypatch.setenv("ENAMELS_STORE", str(demonstration.path))
        return enamels(*arguments)

    return run


def estimates(value: object):
    """Every estimate in a document."""
    if isinstance(value, dict):
        if set(value) >= ESTIMATE:
            yield value
        for inner in value.values():
            yield from estimates(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from estimates(inner)


def test_trends_in_words(asked):
    code, out, _ = asked("trends")

    assert code == 0
    first = out.splitlines()[0]
    assert first.startswith(
        "Of the 315 objects graded in both, 63 are graded worse and 17 better; allowing for who looked, "
    )
    assert first.endswith("a grade worse within five years.")
    assert "cells of room, year, technique and kinds of damage were tested" in out
    assert "Measured against the grades of" in out
    assert not_to_be_read([out]) == []


def test_trends_for_programs(asked):
    code, out, err = asked("trends", "--json")
    document = json.loads(out)

    assert code == 0
    assert err.startswith("Of the 315 objects")
    found = list(estimates(document))
    assert len(found) > 100
    for one in found:
        assert (one["value"] is None) == (one["refused"] is not None)
        assert one["refused"] or (one["low"] <= one["value"] <= one["high"] and one["method"])
    assert document["cells_tested"] > 0
    assert {row["room"] for row in document["stories"]} == {"GW", "L2"}


def test_of_some_objects_the_model_says_why_it_says_nothing(asked):
    code, out, _ = asked(
        "trends", "--location", "E1", "--technique", "painted", "--from", "2018-01-01", "--to", "2024-01-01"
    )

    assert code == 0
    assert out.splitlines()[0].startswith("Shown:")
    assert "how much of that is who looked cannot be said:" in out
    assert "are needed" in out


@pytest.mark.parametrize(
    ("arguments", "code", "words"),
    [
        (("--from", "spring"), WrongUsage.code, "'spring' is no day"),
        (("--from", "2024-01-01", "--to", "2020-01-01"), WrongUsage.code, "does not come after"),
        (("--location", "attic"), NotFound.code, "there is no place 'attic'"),
    ],
    ids=["no day", "backwards", "no place"],
)
def test_what_cannot_be_asked(asked, arguments, code, words):
    answered, _, err = asked("trends", *arguments)

    assert answered == code
    assert words in err


def test_repairs(asked):
    code, out, _ = asked("repairs")
    _, document, _ = asked("repairs", "--json")
    groups = json.loads(document)["repairs"]

    assert code == 0
    assert "failures per 100 repair-years" in out
    assert groups[0]["repairs"] == "Every join"
    assert all(set(group["rate"]) >= ESTIMATE for group in groups)
    assert not_to_be_read([out]) == []


def test_a_statement_of_a_year_on_paper_and_for_programs(asked, tmp_path):
    code, out, err = asked("statement", "2025", "--json")
    document = json.loads(out)

    assert code == 0
    assert (tmp_path / "reports" / "statement_2025.pdf").read_bytes().startswith(b"%PDF")
    assert document["until"] == "2025-12-31"
    assert len(document["measures"]) == len(document["year_before"]) == 9
    assert all(set(one) >= ESTIMATE for one in document["measures"])
    assert "Need attention now [objects]:" in err
    assert not_to_be_read([err]) == []
    assert asked("verify", "reports/statement_2025.pdf")[0] == 0


def test_a_year_that_has_not_begun(asked):
    code, _, err = asked("statement", "2031")

    assert code == WrongUsage.code
    assert "2031 has not begun" in err
