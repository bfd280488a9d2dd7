"""What is of one day is ordered as it came, never by the text of a number."""

from datetime import date

import polars as pl

from collection.as_of import as_known
from collection.attention.decisions import _latest
from collection.facts.facts import Facts
from collection.risk.inspections import inspections
from tests.collection.risk.builders import assessed, check, register

DAY = date(2026, 6, 1)


def test_the_tenth_check_of_a_day_comes_after_the_ninth():
    collection = register(
        object=[{"object_id": "O"}], condition_check=[check(f"C{n}", "O", DAY.isoformat()) for n in (9, 10)]
    )

    assert inspections(as_known(collection, DAY))["check_id"].to_list() == ["C9", "C10"]


def test_the_tenth_decision_of_a_day_is_the_last():
    decisions = [
        {"decision_id": f"D{n}", "object_id": "O", "decided_on": DAY, "choice": choice}
        for n, choice in ((9, "leave"), (10, "treat"))
    ]
    collection = as_known(register(object=[{"object_id": "O"}], decision=decisions), DAY)

    last = _latest(Facts(collection, assessed(collection, as_of=DAY), None)).collect()

    assert last["choice"].to_list() == ["treat"]


def test_rows_of_a_file_have_its_order_and_rows_of_a_form_that_of_their_numbers(put, store, bring_in, write_csv):
    put(object=pl.DataFrame({"object_id": ["V.10", "V.9"]}))
    bring_in(write_csv("a.csv", "object_id", "V.3", "V.20", "V.1"))

    held = store.read()["object"].sort("entry_no")

    assert held["object_id"].to_list() == ["V.9", "V.10", "V.3", "V.20", "V.1"]
    assert held["entry_no"].to_list() == [1, 2, 3, 4, 5]
