"""Hostile rows: each case names its rule, column and row; a good row beside it is accepted; nothing is dropped."""

import polars as pl
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from collection.intake.files.delimited import TextTable
from collection.store import Store
from tests.collection.intake.small_catalogue import GOOD, HEAD

# name of the case, the bad row, rule, column
ROWS = [
    ("too few cells", "V.2,Bowl", "ragged_row", None),
    ("too many cells", "V.2,Bowl,painted,copper,1,1750,1986,extra,extra", "ragged_row", None),
    ("a quote that never closes", 'V.2,"Bowl,painted,copper,1,1750,1986', "stray_quote", None),
    ("a quote inside a quoted cell", 'V.2,"Bo"wl",painted,copper,1,1750,1986', "stray_quote", None),
    ("no number", ",Bowl,painted,copper,1,1750,1986", "missing_value", "object_id"),
    ("a number in other case", "v.1,Bowl,painted,copper,1,1750,1986", "number_differs_in_case", "object_id"),
    (
        "a number in full-width letters",
        "\uff36.1,Bowl,painted,copper,1,1750,1986",
        "number_differs_in_case",
        "object_id",
    ),
    ("a number repeated with other content", "V.1,Bowl,painted,copper,1,1750,1986", "number_repeated", "object_id"),
    ("a path", "../../etc/passwd,Bowl,painted,copper,1,1750,1986", "number_as_path", "object_id"),
    ("a Windows path", "C:\\Windows\\x,Bowl,painted,copper,1,1750,1986", "number_as_path", "object_id"),
    ("a control character", "V.\x072,Bowl,painted,copper,1,1750,1986", "control_character", "object_id"),
    (
        "a character that turns the direction",
        "V.\u202e2,Bowl,painted,copper,1,1750,1986",
        "control_character",
        "object_id",
    ),
    ("a cell of 20 MB", f"V.2,{'x' * 20_000_000},painted,copper,1,1750,1986", "cell_too_long", "title"),
    ("a cell one letter too long", f"V.2,{'x' * 32_768},painted,copper,1,1750,1986", "cell_too_long", "title"),
]


@pytest.mark.parametrize(("row", "rule", "column"), [r[1:] for r in ROWS], ids=[r[0] for r in ROWS])
def test_a_bad_row_is_refused_by_its_rule_and_the_good_ones_beside_it_are_taken(row, rule, column, write_csv, judge):
    judged = judge(write_csv("hostile.csv", HEAD, GOOD, row, "V.3,Vase,cloisonne,copper,90,1800,1990"))

    result = judged.answer
    refused = result.problems.filter(pl.col("level") == "refuse").select("source_row", "rule", "column").rows()
    assert refused == [(3, rule, column)]
    assert judged.rows("object")["object_id"].to_list() == ["V.1", "V.3"]
    assert judged.rows("refused_row")["source_row"].to_list() == [3]
    assert result.refused["source_row"].to_list() == [3]
    said = result.problems.filter(pl.col("level") == "refuse").row(0, named=True)
    assert said["words"]
    assert said["expected"]
    assert said["to_do"]


CELLS = st.lists(st.sampled_from(["", "a", "\u00e9", " "]), min_size=1, max_size=5)


@settings(max_examples=300, deadline=None)
@given(lines=st.lists(st.one_of(st.just(["x", "y", "z"]), CELLS), min_size=1, max_size=6), ended=st.booleans())
@example(lines=[["x", "y", "z"], ["x", "y", "z", ""]], ended=False)
@example(lines=[["x", "y", "z"], ["x", "y"], [""]], ended=True)
def test_a_line_without_quotes_is_what_stands_between_its_delimiters_and_one_of_another_width_is_named(lines, ended):
    data = b"h\n" + ("\n".join(map(",".join, lines)) + "\n" * ended).encode()
    expected = lines if ended or lines[-1] != [""] else lines[:-1]  # what ends without a line end is no line if empty

    parts = list(TextTable(data, ",", 3).rows(len(b"h\n"), 2))

    rows = [row[:3] for part in parts for frame in part.frames for row in frame.rows()]
    assert rows == [tuple(cell or None for cell in [*line, "", ""][:3]) for line in expected]
    uneven = [number for number, line in enumerate(expected, 2) if len(line) != 3 and line != [""]]
    assert [number for part in parts for number, *_ in part.faults] == uneven


# name of the case, the row with one odd cell that may be empty, rule, column
ODD_CELLS = [
    ("too large a number", "V.2,Bowl,painted,copper,1e308,1750,1986", "impossible_number", "height_mm"),
    ("beyond every number", "V.2,Bowl,painted,copper,1e999,1750,1986", "impossible_number", "height_mm"),
    ("not a number", "V.2,Bowl,painted,copper,NaN,1750,1986", "impossible_number", "height_mm"),
    ("infinite", "V.2,Bowl,painted,copper,inf,1750,1986", "impossible_number", "height_mm"),
    ("negative", "V.2,Bowl,painted,copper,-3,1750,1986", "impossible_number", "height_mm"),
    ("words for a number", "V.2,Bowl,painted,copper,tall,1750,1986", "impossible_number", "height_mm"),
    ("a unit nobody knows", "V.2,Bowl,painted,copper,12 cubits,1750,1986", "unknown_unit", "height_mm"),
    ("year 0", "V.2,Bowl,painted,copper,1,0,1986", "year_zero", "earliest_year"),
    ("a day that never was", "V.2,Bowl,painted,copper,1,1750,2023-02-29", "impossible_date", "condition_remark_on"),
    ("a thirteenth month", "V.2,Bowl,painted,copper,1,1750,1972-13", "impossible_date", "condition_remark_on"),
    ("a term nobody knows", "V.2,Bowl,painted,kryptonite,1,1750,1986", "unknown_term", "base_metal"),
]


@pytest.mark.parametrize(("row", "rule", "column"), [r[1:] for r in ODD_CELLS], ids=[r[0] for r in ODD_CELLS])
def test_one_odd_cell_that_may_be_empty_is_left_empty_and_asked_about_and_its_row_is_taken(
    row, rule, column, write_csv, judge
):
    judged = judge(write_csv("odd.csv", HEAD, GOOD, row))

    result = judged.answer
    (problem,) = result.problems.filter(pl.col("source_row") == 3).to_dicts()
    assert (problem["rule"], problem["column"], problem["level"]) == (rule, column, "ask")
    assert problem["words"]
    assert problem["expected"]
    assert problem["to_do"]
    held = judged.rows("object").filter(object_id="V.2")
    assert held[column].to_list() == [None]
    assert held["title"].to_list() == ["Bowl"]
    assert result.unread.cells.select("column", "cells").rows() == [(column, 1)]
    assert result.code == 0


MARKUP = [
    "<script>alert(1)</script>",
    "![x](http://example.invalid/y.png)",
    ":red[x] $x^2$",
    "#set page(width: 1mm)",
    "=1+1",
    "+49 30",
    "@SUM(A1)",
]


@pytest.fixture(scope="module")
def titles(tmp_path_factory, bring_into):
    """Titles that are markup, by the number of their object, after they were brought in."""
    folder = tmp_path_factory.mktemp("markup")
    rows = (f'{number},"{markup}"' for number, markup in enumerate(MARKUP))
    (folder / "m.csv").write_text("\n".join(["object_id,title", *rows]), "utf-8")
    bring_into(Store(folder / "enamels.duckdb"), folder / "m.csv")
    return dict(Store(folder / "enamels.duckdb").read()["object"].select("object_id", "title").rows())


@pytest.mark.parametrize("markup", MARKUP)
def test_markup_is_text_like_any_other(markup, titles):
    assert titles[str(MARKUP.index(markup))] == markup
