"""May these objects travel? Words for hours, money and time; several loans; many objects in one answer."""

from datetime import timedelta

import pytest

from collection.questions import travel as asked
from collection.questions.travel import effort_words, sentence, travel
from tests.collection.attention.cases import asked as loan_asked
from tests.collection.attention.cases import loan, looked, seen, together, triage_of
from tests.collection.loans.test_effort import option
from tests.collection.risk.builders import AS_OF

LATELY = looked("2026-10-01")
LIFTS = seen("lifting", "active", "2026-10-01")
PROPOSED = option("P{o}", (2.0, 4.0, 8.0), waiting_days=2.0)
WEEK = {"setting": [{"name": "hours_a_week", "value": "2"}]}


def in_days(days, **more):
    return loan((AS_OF + timedelta(days=days)).isoformat(), **more)


# 4 h at 2 h a week is 14 days, and 2 of waiting.
CASES = {
    "fit, on no loan": LATELY,
    "unfit, on no loan": LIFTS,
    "in time to the day": together(LIFTS, PROPOSED, in_days(16), WEEK),
    "a day too late": together(LIFTS, PROPOSED, in_days(15)),
    "nobody estimated": together(LIFTS, in_days(40)),
    "fit and lent": together(LATELY, in_days(40)),
    "under conditions": together(seen("lifting", "stable", "2026-10-01"), in_days(40)),
    "on two loans": together(LATELY, in_days(40, number="A{o}", permits="CITES"), in_days(90, number="B{o}")),
    "one promised later": together(
        LATELY, loan_asked("2026-09-01", starts="2026-12-01", number="A{o}"), loan_asked("2026-09-01", "promised", starts="2027-02-01", number="B{o}")),
    "never inspected": in_days(3),
    "left already": together(LIFTS, PROPOSED, in_days(-3)),
}  # fmt: skip


@pytest.fixture(scope="module")
def triage():
    return triage_of(CASES)


@pytest.fixture(scope="module")
def rows(triage):
    return {row["object_id"]: row for row in travel(triage).iter_rows(named=True)}


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("fit, on no loan", ""),
        ("unfit, on no loan", ""),
        ("in time to the day", "leaves 17 November 2026, 16 days left; at 2 h a week it takes 16 days: in time"),
        ("a day too late", "leaves 16 November 2026, 15 days left; at 2 h a week it takes 16 days: NOT in time"),
        ("nobody estimated", "leaves 11 December 2026, 40 days left; nobody has estimated how long it takes"),
        ("fit and lent", ""),
        ("under conditions", ""),
        ("never inspected", "leaves 4 November 2026, 3 days left; nobody has estimated how long it takes"),
        ("left already", ""),
    ],
)
def test_whether_there_is_time(rows, name, words):
    assert rows[name]["time"] == words


def test_without_hours_a_week_no_time_is_promised():
    row = travel(triage_of({"O": together(LIFTS, PROPOSED, in_days(16))})).row(0, named=True)

    assert row["time"] == "leaves 17 November 2026, 16 days left; hours a week are not set"


def test_of_several_loans_the_next_promised_counts_unless_one_is_named(triage, rows):
    one = travel(triage, ["on two loans"], "Bon two loans").row(0, named=True)

    assert (rows["on two loans"]["loan_id"], rows["on two loans"]["verdict"]) == ("Aon two loans", "conditions")
    assert (one["loan_id"], one["verdict"], one["days_left"]) == ("Bon two loans", "fit", 90)
    assert rows["one promised later"]["loan_id"] == "Bone promised later"


def test_a_condition_says_what_is_asked_for(rows):
    assert rows["under conditions"]["conditions"] == [
        "stable lifting, seen 1 October 2026: level on a rigid padded tray in a crate of its own, with a courier;"
        " inspected at each end"
    ]
    assert rows["under conditions"]["against"] == []
    assert rows["under conditions"]["fit_when"] == []


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ({"verdict": "fit", "hours_likely": 3.0}, ""),
        ({"hours_low": 4.0, "hours_likely": 6.0, "hours_high": 10.0}, "about 6 h (4 to 10)"),
        ({"hours_low": 6.0, "hours_likely": 6.0, "hours_high": 6.0}, "about 6 h"),
        ({"hours_low": 23 / 60, "hours_likely": 23 / 60, "hours_high": 23 / 60}, "about 23 min"),
        ({"hours_low": 0.25, "hours_likely": 0.5, "hours_high": 0.75}, "about 30 min (15 to 45)"),
        ({"cost": 1200.0, "currency": "GBP"}, "materials 1,200 GBP"),
        ({"cost": 12.0}, "materials 12"),
        ({"no_estimate": 2}, "no estimate yet for 2 of the reasons"),
        ({"hours_low": 4.0, "hours_likely": 4.0, "hours_high": 4.0, "cost": 5.0, "currency": "EUR", "no_estimate": 1},
         "about 4 h, materials 5 EUR, no estimate yet for 1 of the reasons"),
        ({}, ""),
    ],
)  # fmt: skip
def test_hours_and_money_in_words(row, words):
    empty = dict.fromkeys(("hours_low", "hours_likely", "hours_high", "cost", "currency"))

    assert effort_words({"verdict": "not_fit", "no_estimate": 0} | empty | row) == words


def test_seventy_objects_in_one_answer_in_the_order_asked():
    names = [f"n{n}" for n in range(70)]
    triage = triage_of({name: LATELY if n < 12 else {} for n, name in enumerate(names)})
    order = list(reversed(names))
    rows = travel(triage, order)

    assert rows["object_id"].to_list() == order
    assert sentence(rows) == (
        "Of 70 objects 12 may travel as recorded, 0 under conditions; 58 are not to be packed as recorded."
    )


def test_a_number_that_is_none_is_left_out_and_the_rest_answered(triage):
    assert travel(triage, ["nobody", "fit, on no loan"])["object_id"].to_list() == ["fit, on no loan"]


def test_what_a_page_says_of_one(triage, rows):
    late, alone = rows["a day too late"], asked.one(triage, "fit, on no loan")

    assert asked.for_what(late) == "Judged for La day too late, which leaves 16 November 2026."
    assert asked.verdict_sentence(late) == "Not to be packed as recorded: active lifting, seen 1 October 2026."
    assert asked.what_to_do(late) == [
        "It would be fit when a conservator has treated or secured it, and the object is inspected again.",
        "That takes about 4 h (2 to 8).",
        "Leaves 16 November 2026, 15 days left; at 2 h a week it takes 16 days: NOT in time.",
    ]
    assert asked.for_what(alone).startswith("No loan out is ahead")
    assert asked.verdict_sentence(alone) == "Fit to travel: nothing on record against it."
    assert asked.what_to_do(alone) == []


def test_the_verdict_of_every_object_in_words(triage, rows):
    words = dict(asked.verdict_words(triage).iter_rows())

    assert words == {name: row["verdict_words"] for name, row in rows.items()}
