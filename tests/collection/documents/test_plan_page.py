"""The plan on paper and as a workbook holds the figures that the page shows, from the same frames."""

import io
import json

import openpyxl
import polars as pl
import pytest
from pypdf import PdfReader

from collection.documents.plan_page import plan_page, plan_workbook
from collection.documents.typeset import typeset
from collection.documents.words import sheet_heading, sheet_name, title
from collection.plan.plan import make_plan
from collection.planning.asked import Asked
from collection.planning.situation import situation_of
from collection.questions.plan_tables import by_way, by_year, in_reading_unit, use_of_funds
from collection.questions.words import two_figures
from collection.questions.year_plan import left_undone, schedule, sentence, use_of_limits
from tests.collection.plan.builders import hours, money, obj, option
from tests.collection.plan.builders import situation_of as rows_of
from tests.collection.planning.museum import house


@pytest.fixture(scope="module")
def triage():
    return house()


@pytest.fixture(scope="module")
def plan(triage):
    return make_plan(situation_of(triage, Asked().question(triage)))


@pytest.fixture(scope="module")
def page(triage, plan):
    return plan_page(triage, plan, "Planned for 3 years with the money and hours on record.")


@pytest.fixture(scope="module")
def book(triage, plan):
    return openpyxl.load_workbook(io.BytesIO(plan_workbook(triage, plan)))


def block(document, name):
    return next(b for b in document.blocks if b.title == title(name))


def sheet(book, name):
    """Columns of a sheet by their headings."""
    head, *rows = book[sheet_name(name)].iter_rows(values_only=True)
    return {heading: [row[n] for row in rows] for n, heading in enumerate(head)}


@pytest.mark.parametrize(
    ("name", "frame"),
    [("years", lambda t, p: by_year(p)), ("schedule", schedule), ("limits", lambda t, p: use_of_limits(p)),
     ("funds", lambda t, p: use_of_funds(p)), ("undone", left_undone), ("ways", lambda t, p: by_way(p))],
)  # fmt: skip
def test_a_sheet_holds_the_frame_that_the_page_shows(book, triage, plan, name, frame):
    rows = in_reading_unit(plan, frame(triage, plan))
    written = sheet(book, name)

    assert rows.height
    assert list(written) == [sheet_heading(column) for column in rows.columns]
    for column, kind in rows.schema.items():
        values, expected = written[sheet_heading(column)], [None if v == "" else v for v in rows[column]]
        if kind == pl.Float64:
            expected = [v if v is None else pytest.approx(v, rel=1e-12, abs=1e-15) for v in expected]
        if kind == pl.Date:
            values = [value and value.date() for value in values]
        assert values == expected


def test_the_page_for_the_director_prints_the_same_figures(page, triage, plan):
    rows = schedule(triage, plan)
    lines = {row["option_id"]: row for row in block(page, "lines").rows if "option_id" in row}

    assert page.blocks[0].rows[0]["text"] == sentence(plan)
    assert set(lines) == set(rows["option_id"])
    for row in rows.iter_rows(named=True):
        printed = lines[row["option_id"]]
        assert printed["prevents"] == f"{two_figures(row['worth'] * 100)} %"
        assert (printed["year"], printed["money"]) == (str(row["year"]), f"{row['money']:,.0f}")
        assert printed["hours"] == two_figures(row["hours"])
    assert [row["takes"] for row in block(page, "years").rows] == by_year(plan)["takes"].to_list()
    assert [row["prevents"] for row in block(page, "ways").rows] == [
        f"{two_figures(worth * 100)} %" for worth in by_way(plan)["prevented"]
    ]


def test_it_stays_one_page_with_ten_years_and_more_lines_than_it_has_room_for(triage):
    many = [f"{n:02}" for n in range(40)]
    its = make_plan(
        rows_of(
            years=10,
            objects=[obj(o) for o in many],
            options=[option(f"P{o}", o, 10, given_worth=1.0) for o in many],
            option_hours=[(f"P{o}", "bench", 2.0) for o in many],
            money=money(*[50.0] * 10),
            hours=hours("bench", *[9.0] * 10),
        )
    )
    document = plan_page(triage, its)

    assert its.lines.height == 40
    assert len(PdfReader(io.BytesIO(typeset(document))).pages) == 1
    assert block(document, "lines").rows[-1]["title_or_place"] == "and 35 more"


def test_worth_in_money_is_said_as_money(triage):
    insured = rows_of(
        insured=True,
        objects=[obj("A") | {"insured_value": 5000.0}],
        options=[option("A1", "A", 10, given_worth=1200.0)],
        option_hours=[("A1", "bench", 2.0)],
        money=money(50),
        hours=hours("bench", 9),
    )
    its = make_plan(insured)
    document = plan_page(triage, its)

    assert its.in_money
    assert block(document, "lines").rows[0]["prevents_money"] == "1,200"
    assert document.blocks[1].rows[0]["label"] == "1,200"
    assert "of insured value" in document.blocks[1].rows[0]["text"]
    assert json.loads(document.canonical())["title"].startswith("Plan of treatments 2027, ")
