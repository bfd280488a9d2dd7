"""Cells into types. The fast expressions may refuse what pydantic takes, never take what pydantic refuses."""

import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import TypeAdapter, ValidationError

from collection.validation.cells import typed
from collection.validation.conventions import Conventions, parse_order
from schemas.tables import RECORDS

OBJECT = RECORDS["object"]
JUDGED = (
    "height_mm",
    "count_of_items",
    "earliest_year",
    "insured_value",
    "value_points",
    "condition_remark_on",
    "currency",
)
SHAPES = st.one_of(
    st.from_regex(r"[+-]?\d{1,6}([.,_ ]\d{1,3})?([eE][+-]?\d{1,3})?", fullmatch=True),
    st.from_regex(r"\d{4}-\d{1,2}(-\d{1,2})?([ T]\d{2}:\d{2}(:\d{2})?(\.\d+)?Z?)?", fullmatch=True),
    st.sampled_from(
        [
            "NaN",
            "nan",
            "inf",
            "-Infinity",
            "1_000",
            "1,000",
            "0x10",
            "1.",
            ".5",
            "true",
            "T",
            "off",
            "½",
            "١٢",
            "0000",
            "0000-01-01",
            "1999-2-3",
            "946684800",
        ]
    ),
    st.text(max_size=8),
)


def one(column: str, text: str, record: str = "object", **written: object) -> tuple[object, list[str]]:
    cells = pl.DataFrame({"row": [2], column: [text]})
    done = typed(cells, RECORDS[record], Conventions(**written))
    return done.rows[column][0], done.problems["rule"].to_list()


@given(column=st.sampled_from(JUDGED), text=SHAPES)
@settings(max_examples=600, deadline=None)
def test_the_two_judges_agree(column, text):
    value, problems = one(column, text)
    info = OBJECT.model.model_fields[column]
    noted = info.annotation
    for note in info.metadata:
        from typing import Annotated

        noted = Annotated[noted, note]
    shown = text.strip()
    if not shown:
        assert value is None
        assert problems == [] or not text.isprintable()  # a separator of files is no space everywhere
        return
    try:
        expected = TypeAdapter(noted).validate_python(shown)
    except ValidationError:
        assert problems or _more_than_pydantic(column, text), f"took {value!r}, which pydantic refuses"
    else:
        if not problems:
            assert value == (
                pytest.approx(expected) if isinstance(expected, float) else expected
            ) or _more_than_pydantic(column, text)


def _more_than_pydantic(column: str, text: str) -> bool:
    """On purpose: units and a decimal comma beside a length, fractions, the year of an ISO date, a workbook's midnight,
    odd signs."""
    odd = any(c in text for c in "\u2212\u00a0\u202f\u2009½¼¾⅓⅔⅛⅜⅝⅞/")
    return (
        odd
        or ("," in text or " " in text)  # thousands and decimals as people write them
        or (column == "height_mm" and not text.strip()[-1:].isdigit())
        or "00:00:00" in text
        or (column.endswith("year") and "-" in text)
    )


# text, unit of the mapping, mm; inch = 25.4 mm exactly (NIST SP 811, B.9)
LENGTHS = [
    ("12", None, 12.0), ("4", "in", 101.6), ("4", "cm", 40.0), ("4 in", None, 101.6), ("4.5 in.", None, 114.3), ("12 cm", "in", 120.0),
    ("1,5 cm", None, 15.0), ("\u22123", None, None), ("1,250 mm", None, 1250.0), ("1,250", None, 1250.0), ("1,5", "cm", 15.0),
    ("1.250,5 mm", None, 1250.5), ("1 250 mm", None, 1250.0),
]  # fmt: skip


@pytest.mark.parametrize(("text", "unit", "expected"), LENGTHS)
def test_lengths_come_in_millimetres(text, unit, expected):
    units = {"units": {"height_mm": unit}} if unit else {}

    value, _ = one("height_mm", text, **units)

    assert value == (pytest.approx(expected) if expected else None)


def test_a_unit_that_nobody_wrote_is_never_guessed():
    assert one("height_mm", "12", units={"height_mm": ""}) == (None, [])
    assert one("height_mm", "12 cm", units={"height_mm": ""}) == (120.0, [])


@pytest.mark.parametrize(
    ("text", "order", "expected"),
    [("03/04/2021", "dd/mm/yyyy", "2021-04-03"), ("03/04/2021", "mm/dd/yyyy", "2021-03-04"), ("3.4.2021", "dd.mm.yyyy", "2021-04-03"),
     ("2021-03-04 00:00:00", "", "2021-03-04")],
)  # fmt: skip
def test_dates_come_in_the_order_the_mapping_says(text, order, expected):
    value, problems = one(
        "judged_on", text, record="significance", orders={"judged_on": parse_order(order)} if order else {}
    )

    assert str(value) == expected
    assert problems == []


def test_a_date_whose_order_nobody_said_is_refused():
    assert one("judged_on", "03/04/2021", record="significance") == (None, ["impossible_date"])


@pytest.mark.parametrize(
    ("text", "first", "last"),
    [
        ("1972-06", "1972-06-01", "1972-06-30"),
        ("1899", "1899-01-01", "1899-12-31"),
        ("2024-02", "2024-02-01", "2024-02-29"),
        ("2017-12-17", "2017-12-17", "2017-12-17"),
    ],
)  # partial dates as in Collections Trust, Spectrum, condition check date: 06/1972, 1899, 2017-12-17
def test_partial_dates_have_a_first_and_a_last_day(text, first, last):
    rows = typed(pl.DataFrame({"row": [2], "condition_remark_on": [text]}), OBJECT).rows

    assert (str(rows["condition_remark_on_earliest"][0]), str(rows["condition_remark_on_latest"][0])) == (first, last)


@pytest.mark.parametrize("text", ["painted", "Painted", " PAINTED "])
def test_terms_are_taken_as_key_or_label_in_any_case(text):
    assert one("technique", text)[0].to_list() == ["painted"]


def test_an_unknown_term_is_refused_with_a_near_one():
    done = typed(pl.DataFrame({"row": [2], "base_metal": ["coper"]}), OBJECT)

    assert done.problems["rule"].to_list() == ["unknown_term"]
    assert "did you mean 'copper'?" in done.problems["expected"][0]


def test_words_for_unknown_are_emptied():
    assert one("height_mm", "0", unknown={"height_mm": ("0", "0.0")}) == (None, [])


def test_decimal_commas_are_read_where_the_mapping_says_so():
    assert one("value_points", "1.234,5", decimal_comma=("value_points",))[0] == 1234.5
