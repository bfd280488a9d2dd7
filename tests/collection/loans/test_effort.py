"""What would make an object fit, and what it takes: the cheapest waiting options, one inspection, and what has no figure."""

from decimal import Decimal

import pytest

from collection.facts.facts import Facts
from collection.loans.effort import effort
from collection.loans.rules import travel_reasons
from tests.collection.attention.cases import damage, danger, looked, repair, seen, together, triage_of

LATELY = "2026-10-01"


def option(number, hours, hazard="damage:D{o}", status="open", **more):
    """A proposal that meets one hazard."""
    low, likely, high = hours
    row = {"option_id": number, "object_id": "{o}", "status": status}
    return {
        "option": [row | {"hours_low": low, "hours_likely": likely, "hours_high": high} | more],
        "option_effect": [{"option_id": number, "hazard_id": hazard}],
    }


LIFTS = seen("lifting", "active", LATELY)
TWO = together(looked(LATELY), damage("lifting", "active"), damage("flaking", "active", "E{o}"))
BOTH = {"option_effect": [{"option_id": "P{o}", "hazard_id": "damage:E{o}"}]}
CASES = {
    "fit": looked(LATELY),
    "nobody proposed": LIFTS,
    "one proposal": together(LIFTS, option("P{o}", (2.0, 4.0, 8.0), waiting_days=7.0, materials_cost=Decimal(13), currency="GBP")),
    "the cheaper of two": together(LIFTS, option("P{o}", (2.0, 4.0, 8.0)), option("Q{o}", (1.0, 3.0, 9.0))),
    "refused": together(LIFTS, option("P{o}", (2.0, 4.0, 8.0), status="refused")),
    "no hours": together(LIFTS, option("P{o}", (None, None, None))),
    "likely alone": together(LIFTS, option("P{o}", (None, 4.0, None))),
    "one option for two": together(TWO, option("P{o}", (2.0, 4.0, 8.0)), BOTH),
    "two hazards, one proposal": together(TWO, option("P{o}", (2.0, 4.0, 8.0))),
    "two hazards, two proposals": together(
        TWO, option("P{o}", (2.0, 4.0, 8.0)), option("Q{o}", (1.0, 2.0, 3.0), "damage:E{o}", waiting_days=3.0)),
    "join": together(looked(LATELY), repair("holds", "failing"), option("P{o}", (2.0, 4.0, 8.0), "repair:R{o}")),
    "never inspected": {},
    "a radium dial": together(looked(LATELY), danger("radium")),
}  # fmt: skip


@pytest.fixture(scope="module")
def asked():
    triage = triage_of(CASES)
    facts = Facts(triage.collection, triage.risk, triage.rates, worded=True)
    return {row["object_id"]: row for row in effort(travel_reasons(facts), facts).iter_rows(named=True)}


def hours(row):
    return row["hours_low"], row["hours_likely"], row["hours_high"]


# Object: hours low, likely, high [h]; hazards nobody estimated.
WORKED = {
    "nobody proposed": ((None, None, None), 1),
    "one proposal": ((2.0, 4.0, 8.0), 0),
    "the cheaper of two": ((1.0, 3.0, 9.0), 0),
    "refused": ((None, None, None), 1),
    "no hours": ((None, None, None), 1),
    "likely alone": ((4.0, 4.0, 4.0), 0),
    "one option for two": ((2.0, 4.0, 8.0), 0),
    "two hazards, one proposal": ((2.0, 4.0, 8.0), 1),
    "two hazards, two proposals": ((3.0, 6.0, 11.0), 0),
    "join": ((2.0, 4.0, 8.0), 0),
    "a radium dial": ((None, None, None), 0),
}


@pytest.mark.parametrize("name", WORKED)
def test_hours_and_what_has_none(asked, name):
    assert (hours(asked[name]), asked[name]["no_estimate"]) == WORKED[name]


def test_what_is_fit_has_no_row(asked):
    assert "fit" not in asked
    assert set(asked) == set(CASES) - {"fit"}


def test_money_and_waiting_of_the_options_chosen(asked):
    one, two = asked["one proposal"], asked["two hazards, two proposals"]

    assert (one["cost"], one["currency"], one["waiting_days"], one["options"]) == (13.0, "GBP", 7.0, ["Pone proposal"])
    assert (two["waiting_days"], len(two["options"])) == (3.0, 2)


def test_each_thing_that_must_happen_is_said_once(asked):
    assert asked["two hazards, two proposals"]["fit_when"] == [
        "a conservator has treated or secured it, and the object is inspected again"
    ]
    assert "qualified person" in asked["a radium dial"]["fit_when"][0]


@pytest.mark.parametrize(("minutes", "expected"), [((30, 40, 90), 2 / 3), ((None,), None)])
def test_an_inspection_takes_the_median_of_the_museums_own(minutes, expected):
    several = {f"n{n}": looked(LATELY, minutes=value) for n, value in enumerate(minutes)}
    triage = triage_of({**several, "new": {}})
    facts = Facts(triage.collection, triage.risk, triage.rates, worded=True)
    (row,) = effort(travel_reasons(facts), facts).filter(object_id="new").iter_rows(named=True)

    assert row["hours_likely"] == (pytest.approx(expected) if expected else None)
    assert row["fit_when"] == ["it is inspected by someone who takes it up"]
