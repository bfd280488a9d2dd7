"""What a sheet leaves open: the order of its days, units, values of a scale of its own; each answered once."""

import pytest

from collection.intake.files.reader import read_sheets
from collection.intake.mapping.suggest import draft, suggest
from collection.intake.sheet_questions import questions_of


@pytest.fixture
def asked(write_csv):
    """Questions that a list of checks with these cells under one heading leaves open."""

    def ask(heading, *cells, record="condition_check"):
        lines = [f"V.{n};{cell}" for n, cell in enumerate(cells)]
        sheet = next(read_sheets(write_csv("c.csv", f"Inv. no.;{heading}", *lines)))
        mapping = suggest(sheet, record) or draft(sheet, record)
        return mapping, questions_of(sheet, mapping)

    return ask


@pytest.mark.parametrize(
    ("cells", "what", "choices"),
    [
        (
            ["03/04/2021", "05/06/2021"],
            "03/04/2021",
            {"dd/mm/yyyy": "3 April 2021 (dd/mm/yyyy)", "mm/dd/yyyy": "4 March 2021 (mm/dd/yyyy)"},
        ),
        (["04/04/2021", "5/6/2021"], "5/6/2021", {"dd/mm/yyyy": "5 June 2021", "mm/dd/yyyy": "6 May 2021"}),
        (["13.04.21", "05.06.99"], "13.04.21", {"dd.mm.yy": "13 April 2021"}),
        (["05-06-07"], "05-06-07", {"dd-mm-yy": "5 June 2007", "mm-dd-yy": "6 May 2007", "yy-mm-dd": "7 June 2005"}),
        (["3/4/2021 9:05"], "3/4/2021 9:05", {"dd/mm/yyyy hh:mm": "3 April", "mm/dd/yyyy hh:mm": "4 March"}),
    ],
)
def test_an_order_that_nothing_proves_is_asked_with_a_date_that_tells(cells, what, choices, asked):
    _, questions = asked("Date", *cells)

    assert [q.words.rpartition("What is ")[2] for q in questions] == [f"{what}?"]
    assert list(questions[0].choices) == list(choices)
    assert all(words in questions[0].choices[order] for order, words in choices.items())


@pytest.mark.parametrize("cells", [["13/04/2021"], ["2021-04-03"], ["3.4.2021"], ["spring 2021"]])
def test_what_is_proven_or_no_such_date_is_not_asked(cells, asked):
    assert asked("Date", *cells)[1] == []


@pytest.mark.parametrize(("heading", "cells"), [("Height (cm)", ["12"]), ("Height", ["12 cm"]), ("height_mm", ["12"])])
def test_a_unit_that_is_stated_is_not_asked(heading, cells, asked):
    assert asked(heading, *cells, record="object")[1] == []


def test_an_answer_stands_in_the_mapping_and_can_be_taken_back(asked):
    mapping, (question,) = asked("Height", "12", record="object")
    answered = question.answered(mapping, "cm")

    assert (question.answer(mapping), question.answer(answered)) == ("", "cm")
    assert question.answered(answered, "") == mapping


def test_values_of_a_scale_are_asked_and_words_that_are_read_are_not(asked):
    mapping, questions = asked("Condition", "2", "good", "mauvais \u00e9tat", "2", "3")

    assert [(q.column, q.written) for q in questions] == [("grade", "2"), ("grade", "3")]
    answered = questions[0].answered(mapping, "fair")
    assert answered.words == {"grade": {"2": "fair"}}
    assert questions[0].answered(answered, "") == mapping


def test_of_many_unknown_values_none_is_asked(asked):
    assert asked("Condition", *(f"state {n}" for n in range(13)))[1] == []
