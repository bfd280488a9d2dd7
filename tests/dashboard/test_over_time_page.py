"""The page of trends and the growth of a damage on the page of its object, on the demonstration; each chart alone."""

import json
from datetime import date

import numpy as np
import polars as pl
import pytest

from collection.questions import damage_over_time, grades_over_time, growth, repairs_last, stories_over_time
from collection.store import Store
from dashboard import charts, theme
from tests.dashboard.test_charts import encodings, made_here
from tests.words import not_to_be_read

CASES = {
    "moves": (charts.moves_chart, grades_over_time.GRADE_MOVES),
    "examiners": (charts.examiners_chart, grades_over_time.EXAMINERS),
    "forest": (charts.forest_chart, damage_over_time.RATES),
    "room": (charts.room_chart, damage_over_time.ROOM_YEARS),
    "axis": (charts.axis_chart, stories_over_time.AXIS),
    "curve": (charts.curve_chart, repairs_last.CURVES),
    "growth": (charts.growth_chart, growth.GROWTHS),
}
EACH = pytest.mark.parametrize(("draw", "schema"), CASES.values(), ids=CASES)


@EACH
@pytest.mark.parametrize("look", [theme.LIGHT, theme.DARK], ids=["light", "dark"])
def test_a_chart_draws_its_frame_and_nothing_else(draw, schema, look):
    spec = draw(pl.DataFrame(schema=schema), look).to_dict()
    fields = {c["field"] for _, c in encodings(spec) if isinstance(c, dict) and "field" in c}

    assert fields
    assert fields <= {*schema, *made_here(spec)}


@EACH
def test_a_measured_axis_says_its_unit(draw, schema):
    spec = draw(pl.DataFrame(schema=schema)).to_dict()
    titles = [
        c["title"]
        for name, c in encodings(spec)
        if name == "x" and c.get("type") in ("quantitative", "temporal") and c.get("title")
    ]

    assert all("[" in title for title in titles)


@pytest.mark.parametrize(
    ("draw", "schema", "by"),
    [(charts.examiners_chart, grades_over_time.EXAMINERS, "what"), (charts.room_chart, damage_over_time.ROOM_YEARS, "mark"),
     (charts.growth_chart, growth.GROWTHS, "what")],
    ids=["examiners", "rooms", "growth"],
)  # fmt: skip
def test_marks_are_told_apart_by_more_than_colour(draw, schema, by):
    channels = {
        n
        for n, c in encodings(draw(pl.DataFrame(schema=schema)).to_dict())
        if isinstance(c, dict) and c.get("field") == by
    }

    assert {"color", "shape"} <= channels


@pytest.fixture(scope="module")
def curves_frame() -> pl.DataFrame:
    years = np.arange(6.0)
    return pl.DataFrame(
        {"group": ["Every fill"] * 6, "age_years": years, "lasting": [1.0, 1.0, None, 0.7, 0.7, 0.5], "lasting_low": 0.9 - years / 10,
         "lasting_high": 1 - years / 20, "smooth": 1 - years / 12, "observed": [30, 30, 20, 12, 9, 6]},
        schema=repairs_last.CURVES,
    )  # fmt: skip


def test_a_curve_is_open_where_the_data_do_not_say(curves_frame):
    rows = next(iter(charts.curve_chart(curves_frame).to_dict()["datasets"].values()))

    assert [row["lasting"] for row in rows] == [1.0, 1.0, None, 0.7, 0.7, 0.5]


@pytest.fixture(scope="module")
def whole():
    """The page, opened once."""
    return {}


@pytest.fixture
def over_time(page, whole, monkeypatch, demonstration):
    monkeypatch.setenv("ENAMELS_STORE", str(demonstration.path))
    if "app" not in whole:
        whole["app"] = page("over_time")
    return whole["app"]


def test_the_answer_comes_first(over_time, answer):
    assert not over_time.exception
    assert "Of the 315 objects graded in both, 63 are graded worse and 17 better; allowing for who looked, " in answer(
        over_time
    )


def test_everything_is_told_with_its_limits_or_why_not(over_time, said):
    words = said(over_time)

    for part in (
        "Grades then and now",
        "Who looked",
        "Where and when more damage came",
        "How often",
        "How long repairs last",
        "What changed since a day",
    ):
        assert part in words
    assert "cells of room, year, technique and kinds of damage were tested" in words
    assert "15 July 2024 to 28 July 2024" in words
    assert "None of 24 groups of repairs has a curve" in words
    assert not_to_be_read([words]) == []


def test_each_picture_is_there_with_words_for_those_who_do_not_see_it(over_time):
    alts = [chart.proto.alt for chart in over_time.get("vega_lite_chart")] if over_time.get("vega_lite_chart") else []
    specs = json.dumps([str(chart.proto) for chart in over_time.get("arrow_vega_lite_chart")])

    assert alts or "by grade then and now" in specs


def test_other_rates(over_time, said):
    over_time.selectbox(key="rate_of").select("loss")
    over_time.selectbox(key="rate_by").select("room").run()

    assert not over_time.exception
    assert "Per 100 years in which a damage was watched" in said(over_time)


def test_a_day_is_kept_in_the_address(over_time, said):
    over_time.date_input(key="over_since").set_value(date(2024, 9, 30)).run()

    assert over_time.query_params["since"] in ("2024-09-30", ["2024-09-30"])
    assert "Since 30 September 2024" in said(over_time)


def test_some_objects_only_and_other_days(page, said, answer):
    app = page("over_time", location_id="L2", **{"from": "2018-01-01", "to": "2024-06-30"})

    assert not app.exception
    assert "Shown:" in said(app)
    assert "how much of that is who looked cannot be said:" in answer(app)


@pytest.mark.parametrize(
    ("query", "words"),
    [({"from": "spring"}, "asks for &#x27;spring&#x27;, and that is no day"), ({"from": "2024-01-01", "to": "2020-01-01"}, "which is none; all is shown")],
    ids=["no day", "backwards"],
)  # fmt: skip
def test_an_address_that_asks_for_no_time_is_answered_in_a_sentence(page, said, query, words):
    app = page("over_time", **query)

    assert not app.exception
    assert words in said(app)


def test_growth_of_a_damage_on_the_page_of_its_object(page, said):
    app = page("object", object_id="1961.1")
    words = said(app)

    assert not app.exception
    assert "Does it grow?" in words
    assert "Sugary breakdown, whole (D0359): grew between 17 March 2020 and 10 July 2020" in words
    assert "needed for a straight line" in words
    assert "Lines are 95 % limits" in words
    assert not_to_be_read([words]) == []


def test_the_year_in_measures_with_its_paper(page, said, answer):
    app = page("the_year")
    assert "The year 2026, until 30 September 2026: objects checked in the year 239, the year before 368" in answer(app)
    assert "Nothing of 2026 or 2025 is frozen" in said(app)

    app.selectbox(key="statement_year").select(2025).run()
    assert "; need attention now 13, the year before 11; treatments finished 6" in answer(app)
    assert said(app).count("; the year before ") == 9
    app.session_state[app.expander[0].key] = True
    app.run()
    assert list(app.dataframe[0].value)[:3] == ["Measure", "2024", "2025"]
    app.button(key="make_statement_2025").click().run()
    assert not app.exception
    assert "Download: The year in measures (PDF)" in [button.proto.label for button in app.get("download_button")]


def test_a_year_that_is_over_is_frozen_when_a_person_says_so(page, demonstration, tmp_path, said):
    copy = tmp_path / "own.duckdb"
    copy.write_bytes(demonstration.path.read_bytes())
    own = Store(copy)
    app = page("the_year", own)
    assert "freeze" not in {b.key for b in app.button}, "the year that runs cannot be frozen"
    app.selectbox(key="statement_year").select(2025).run()
    app.button(key="freeze").click().run()
    assert "First give your name." in said(app)

    app.text_input(key="freeze_by").set_value("Ida").run()
    app.button(key="freeze").click().run()

    assert "The figures of 2025 are frozen: 9 measures." in said(app)
    assert own.read()["statement"].filter(year=2025).height == 9
    assert "freeze" not in {b.key for b in app.button}
