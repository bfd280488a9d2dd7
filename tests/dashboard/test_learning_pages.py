"""The pages of rates and of the back-test, on a small register of its own."""

import json

import polars as pl
import pytest
from streamlit.testing.v1 import AppTest

from collection.learning.back_test import later_day
from collection.questions import back_test, learned_rates
from collection.store import Store
from dashboard import charts, theme
from tests.collection.learning.test_back_test import UNTIL, many_objects
from tests.collection.learning.test_choosing import write
from tests.dashboard.conftest import APP
from tests.dashboard.test_charts import encodings, made_here

CASES = {
    "rates": (charts.rates_chart, learned_rates.RATE_ROWS),
    "beside": (charts.expected_and_seen_chart, back_test.EXPECTED_SEEN),
    "calibration": (charts.calibration_chart, back_test.GROUPS),
}
EACH = pytest.mark.parametrize(("draw", "schema"), CASES.values(), ids=CASES)


@pytest.fixture
def small(store: Store, put) -> Store:
    write(store, many_objects())
    put(setting=pl.DataFrame({"name": ["today"], "value": [UNTIL.isoformat()]}))
    return store


@pytest.fixture
def page(monkeypatch: pytest.MonkeyPatch):
    """Open a page on a store; no demonstration is needed."""

    def opened(name: str, of_store: Store) -> AppTest:
        monkeypatch.setenv("ENAMELS_STORE", str(of_store.path))
        return AppTest.from_file(APP, default_timeout=60).run().switch_page(f"views/{name}.py").run()

    return opened


@EACH
@pytest.mark.parametrize("look", [theme.LIGHT, theme.DARK], ids=["light", "dark"])
def test_a_chart_draws_its_frame_and_nothing_else(draw, schema, look):
    spec = draw(pl.DataFrame(schema=schema), look).to_dict()
    fields = {c["field"] for _, c in encodings(spec) if isinstance(c, dict) and "field" in c}
    titles = [c["title"] for name, c in encodings(spec) if name == "x" and c.get("title")]

    assert fields <= {*schema, *made_here(spec)}
    assert titles
    assert all("[" in title for title in titles)


def test_rates_side_by_side(page, small, said):
    app = page("rates", small)

    assert not app.exception
    assert "20 recorded losses in 720 years watched" in said(app)
    assert "judgement, published by nobody" in said(app)
    shown = app.dataframe[0].value
    assert shown["What"].to_list() == ["lifting, active"]


def test_a_learned_rate_is_chosen_with_a_name_and_a_reason(page, small, said):
    app = page("rates", small)
    app.button(key="rate_choose").click().run()
    assert "First give your name and say why." in said(app)

    app.text_input(key="rate_name").input("Ida")
    app.text_input(key="rate_why").input("many years")
    app.button(key="rate_choose").click().run()

    assert "now goes by what its own checks say" in said(app)
    assert small.read()["own_rate"].select("chosen", "set_by", "why").rows() == [("learned", "Ida", "many years")]


def test_expected_beside_found(page, small, answer, said):
    app = page("back_test", small)

    assert not app.exception
    assert "Five years ago this register expected" in answer(app)
    assert "not a random choice" in said(app)


def test_other_years(page, small, answer):
    app = page("back_test", small)
    app.selectbox(key="back_years").select(3).run()

    assert "Three years ago" in answer(app) or "No object was checked both" in answer(app)
    assert later_day(UNTIL, -3).year == 2023


def test_no_word_of_logarithms(page, small, said):
    for name in ("rates", "back_test"):
        words = json.dumps(said(page(name, small))).lower()
        assert not [word for word in ("logarithm", "decade", "magnitude", "unseen") if word in words]
