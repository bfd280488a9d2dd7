"""Which loan a report is for: the next one with a leg, or the one that was named; never one without a day by itself."""

from datetime import date

import polars as pl
import pytest

from collection.documents.case import Case
from collection.documents.public import public
from collection.snapshot import Collection
from tests.collection.documents.builders import DAY, frame

LEGLESS = {"direction": "out", "borrower": "Nobody yet"}


def case(small, loan_id=None, *, legs=True):
    """The case of V.1, lent as L1 with a leg and as L0 and L2 with none."""
    added = [{"loan_id": number} | LEGLESS for number in ("L0", "L2")]
    objects = [{"loan_id": number, "object_id": "V.1", "part": "whole"} for number in ("L0", "L2")]
    changed = small | {
        "loan": pl.concat([small["loan"], frame("loan", *added)], how="diagonal"),
        "loan_object": pl.concat([small["loan_object"], frame("loan_object", *objects)], how="diagonal"),
        "loan_leg": small["loan_leg"] if legs else small["loan_leg"].clear(),
    }
    return Case(public(Collection.of(changed), "V.1"), "V.1", "outgoing", DAY, loan_id)


@pytest.mark.parametrize(("named", "expected"), [(None, "L1"), ("L0", "L0"), ("L2", "L2"), ("L1", "L1")])
def test_a_loan_without_a_leg_is_only_taken_by_its_number(small, named, expected):
    assert case(small, named).loan["loan_id"] == expected


def test_with_no_leg_at_all_no_loan_is_guessed(small):
    assert case(small, legs=False).loan is None


def test_the_first_leg_that_has_not_ended_is_the_next(small):
    legs = [
        {"loan_id": "L0", "leg": 1, "starts_on": date(2025, 1, 1), "ends_on": date(2025, 6, 1)},
        {"loan_id": "L2", "leg": 1, "starts_on": date(2026, 10, 1), "ends_on": date(2026, 12, 1)},
    ]
    small["loan_leg"] = pl.concat([small["loan_leg"], frame("loan_leg", *legs)], how="diagonal")

    assert case(small).loan["loan_id"] == "L2"
