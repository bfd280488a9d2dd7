"""Loans by day: how far each is, what falls due, how many of its objects may travel, and the sentence of it all."""

from datetime import date, timedelta

import pytest

from collection.questions import loan, loans
from collection.questions.loans import AGREED_TO, GONE, OVER, WAITS
from tests.collection.attention.cases import PLACES, looked, seen, together, triage_of
from tests.collection.risk.builders import AS_OF, register, triaged

NOVEMBER, DECEMBER, MARCH = date(2026, 11, 16), date(2026, 12, 1), date(2027, 3, 1)


def legs(number, *days):
    """Venues from day to day."""
    return [
        {"loan_id": number, "leg": n, "venue": f"V{n}", "starts_on": first, "ends_on": last}
        for n, (first, last) in enumerate(days, 1)
    ]


def listed(row, *days, objects=("O",)):
    """The one row of a loan, by its days."""
    triage = triaged(
        register(
            **PLACES,
            object=[{"object_id": number} for number in objects],
            loan=[{"loan_id": "L", "direction": "out", "borrower": "Fen House"} | row],
            loan_leg=legs("L", *days),
            loan_object=[{"loan_id": "L", "object_id": number, "part": "whole"} for number in objects],
        )
    )
    rows = loans.loans(triage)
    return rows, rows.row(0, named=True)


IN = {"direction": "in"}
STEPS = {
    "asked for": ({"status": "asked_for", "answer_by": NOVEMBER}, [(MARCH, None)], WAITS, "Asked for",
                  "an answer is due 16 November 2026, in 15 days", NOVEMBER),
    "answer late": ({"status": "asked_for", "answer_by": date(2026, 10, 31)}, [], WAITS, "Asked for",
                    "an answer was due 31 October 2026, 1 day ago", date(2026, 10, 31)),
    "answer, no day": ({"status": "asked_for"}, [], WAITS, "Asked for", "no day set for the answer", None),
    "promised": ({"status": "promised"}, [(NOVEMBER, MARCH)], AGREED_TO, "Agreed",
                 "leaves 16 November 2026, in 15 days", NOVEMBER),
    "leaves today": ({"status": "promised"}, [(AS_OF, MARCH)], AGREED_TO, "Agreed",
                     "leaves 1 November 2026, today", AS_OF),
    "should have left": ({"status": "promised"}, [(date(2026, 10, 1), MARCH)], AGREED_TO, "Agreed",
                         "was to leave 1 October 2026, 31 days ago", date(2026, 10, 1)),
    "promised, no leg": ({"status": "promised"}, [], AGREED_TO, "Agreed", "its first day is not recorded", None),
    "comes": ({"status": "promised"} | IN, [(NOVEMBER, MARCH)], AGREED_TO, "Agreed",
              "arrives 16 November 2026, in 15 days", NOVEMBER),
    "away": ({"status": "lent"}, [(date(2026, 5, 1), DECEMBER)], GONE, "Away",
             "due back 1 December 2026, in 30 days", DECEMBER),
    "away, one more venue": ({"status": "lent"}, [(date(2026, 5, 1), date(2026, 10, 1)), (NOVEMBER, MARCH)], GONE, "Away",
                             "goes on to V2 16 November 2026, in 15 days", NOVEMBER),
    "overdue": ({"status": "lent"}, [(date(2026, 5, 1), date(2026, 10, 2))], GONE, "Away",
                "was due back 2 October 2026, 30 days ago", date(2026, 10, 2)),
    "here": ({"status": "lent"} | IN, [(date(2026, 5, 1), DECEMBER)], GONE, "Here",
             "due back with its lender 1 December 2026, in 30 days", DECEMBER),
    "returned": ({"status": "returned"}, [(date(2023, 5, 1), date(2023, 9, 1))], OVER, "Returned",
                 "its last day was 1 September 2023", date(2023, 9, 1)),
    "refused": ({"status": "refused"}, [], OVER, "Refused", "its last day is not recorded", None),
    "not noted, to come": ({}, [(NOVEMBER, MARCH)], AGREED_TO, "Not noted",
                           "leaves 16 November 2026, in 15 days", NOVEMBER),
    "not noted, under way": ({}, [(date(2026, 5, 1), DECEMBER)], GONE, "Not noted",
                             "due back 1 December 2026, in 30 days", DECEMBER),
    "not noted, over": ({}, [(date(2023, 5, 1), date(2023, 9, 1))], OVER, "Not noted",
                        "its last day was 1 September 2023", date(2023, 9, 1)),
}  # fmt: skip


@pytest.mark.parametrize(("row", "days", "phase", "how_far", "words", "on"), STEPS.values(), ids=STEPS)
def test_how_far_a_loan_is_and_what_falls_due(row, days, phase, how_far, words, on):
    _, its = listed(row, *days)

    assert (its["phase"], its["how_far"], its["next"], its["next_on"]) == (phase, how_far, words, on)


ANSWERS = {
    "asked for": "1 loan is asked for and waits for an answer until 16 November 2026.",
    "answer, no day": "1 loan is asked for and waits for an answer.",
    "promised": "1 loan is promised: leaves 16 November 2026, in 15 days, its one object is not to be packed as recorded.",
    "away": "1 loan is away: due back 1 December 2026, in 30 days.",
    "here": "1 loan in is here: due back with its lender 1 December 2026, in 30 days.",
    "returned": "No loan is asked for, promised or away.",
}


@pytest.mark.parametrize("name", ANSWERS)
def test_the_sentence_of_one(name):
    row, days, *_ = STEPS[name]

    assert loans.answer(listed(row, *days)[0]) == ANSWERS[name]


def test_without_a_loan_it_says_so():
    assert loans.answer(loans.loans(triaged(register(object=[{"object_id": "O"}])))) == "No loan is on record."


def lent(number, status, first, **more):
    return {
        "loan": [{"loan_id": number, "direction": "out", "borrower": "Fen House", "status": status} | more],
        "loan_leg": legs(number, (first, first + timedelta(days=90))),
    }


def on(number, **more):
    return {"loan_object": [{"loan_id": number, "object_id": "{o}", "part": "whole"} | more]}


LATELY = looked("2026-10-01")
CASES = {
    "fit": together(
        LATELY, on("P1"), on("P2"), on("A1"), lent("P1", "promised", NOVEMBER), lent("P2", "promised", DECEMBER),
        lent("A1", "asked_for", MARCH, answer_by=NOVEMBER), lent("A2", "asked_for", MARCH, answer_by=DECEMBER),
        lent("B1", "lent", date(2026, 9, 1)), lent("R1", "refused", MARCH)),
    "lifts": together(seen("lifting", "active", "2026-10-01"), on("P1"), on("A1"), on("R1")),
    "stable": together(seen("lifting", "stable", "2026-10-01"), on("P1", crate_no="7"), on("B1")),
    "clean, told to wait": together(LATELY, on("P2", conditions_before_packing="box it\n\nlabel it")),
    "needs less": together(
        LATELY, on("P2", rh_high=50.0, lux_most=50.0), {"target": [{"target_id": "T", "object_id": "{o}", "rh_high": 45.0, "reason": "weeps"}]}),
}  # fmt: skip


@pytest.fixture(scope="module")
def triage():
    return triage_of(CASES)


@pytest.fixture(scope="module")
def rows(triage):
    return loans.loans(triage)


@pytest.mark.parametrize(
    ("unfit", "objects", "words"),
    [
        (0, 0, "no object is on it"),
        (1, 1, "its one object is not to be packed as recorded"),
        (0, 1, "its one object may travel"),
        (0, 3, "its 3 objects may all travel"),
        (3, 3, "none of its 3 objects is to be packed as recorded"),
        (1, 3, "1 of its 3 objects is not to be packed as recorded"),
        (2, 3, "2 of its 3 objects are not to be packed as recorded"),
    ],
)
def test_how_many_are_not_to_be_packed(unfit, objects, words):
    assert loans.not_packed(unfit, objects) == words


def test_by_the_next_day_and_what_is_over_last(rows):
    assert rows["loan_id"].to_list() == ["A1", "P1", "B1", "A2", "P2", "R1"]
    # 16 November: an answer, a departure; 30 November: back; 1 December: an answer, a departure; over


def test_each_object_is_counted_for_each_of_its_loans(rows):
    counted = {row["loan_id"]: (row["objects"], row["fit"], row["conditions"], row["not_fit"])
               for row in rows.iter_rows(named=True)}  # fmt: skip

    assert counted == {
        "P1": (3, 1, 1, 1),
        "P2": (3, 1, 0, 2),  # a line open; more humidity agreed than it stands
        "A1": (2, 1, 0, 1),
        "A2": (0, None, None, None),
        "B1": (1, None, None, None),
        "R1": (1, None, None, None),
    }


def test_the_sentence_of_several(rows):
    assert loans.answer(rows) == (
        "2 loans are asked for, the first waits for an answer until 16 November 2026; 2 loans are promised, the first"
        " leaves 16 November 2026, in 15 days, 3 of their 6 objects are not to be packed as recorded; 1 loan is away:"
        " due back 30 November 2026, in 29 days."
    )


def test_objects_of_one_loan_the_worst_first(triage):
    its = loan.lent(triage, "P1")

    assert its["object_id"].to_list() == ["lifts", "stable", "fit"]
    assert its["verdict_words"].to_list() == [
        "Not to be packed as recorded",
        "Fit with these conditions",
        "Fit to travel",
    ]
    assert its["crate_no"].to_list() == [None, "7", None]
    assert "level on a rigid padded tray" in its["because"][1]
    assert its["because"][2] == "nothing on record against it"


def test_what_is_to_be_done_before_packing(triage):
    assert loan.open_conditions(triage, "P2").rows() == [
        ("clean, told to wait", "box it"),
        ("clean, told to wait", "label it"),
    ]
    assert loan.open_conditions(triage, "P1").is_empty()


def test_limits_conflicts_first_and_what_nobody_set_left_out(triage):
    its = loan.agreed(triage, "P2")

    assert its.select("object_id", "quantity", "agreed", "needs", "fits").rows() == [
        ("needs less", "relative humidity", "at most 50 %", "at most 45 %", "CONFLICT, not bridged"),
        ("needs less", "light", "at most 50 lx", None, "nothing to compare"),
    ]
    assert loan.conflicts_sentence(its) == "What was agreed goes beyond what 1 object needs."
    assert "Nothing that was agreed" in loan.conflicts_sentence(loan.agreed(triage, "P1"))


@pytest.mark.parametrize(
    ("number", "words"),
    [
        ("P1", "P1, agreed, to Fen House: leaves 16 November 2026, in 15 days; 1 of its 3 objects is not to be packed as recorded."),
        ("B1", "B1, away, to Fen House: due back 30 November 2026, in 29 days; for the way back its one object may travel."),
        ("R1", "R1, refused, to Fen House: its last day was 30 May 2027; what follows is how its 1 object would travel today."),
        ("A2", "A2, asked for, to Fen House: an answer is due 1 December 2026, in 30 days; no object is on it."),
    ],
)  # fmt: skip
def test_one_loan_in_a_sentence(triage, rows, number, words):
    row = rows.filter(loan_id=number).row(0, named=True)

    assert loan.loan_sentence(row, loan.lent(triage, number)) == words
