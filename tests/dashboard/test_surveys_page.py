"""The page of surveys, run from the entry script: the survey in sight, drawing a new one, what is missing."""

import pytest

from collection.questions import agreement, surveys
from collection.store import Store
from collection.surveys.outcomes import progress
from collection.surveys.parameters import surveys as figures


def texts(app):
    return " ".join(h.proto.body for h in app.main.get("html"))


@pytest.fixture
def own(demonstration, tmp_path):
    copy = tmp_path / "own.duckdb"
    copy.write_bytes(demonstration.path.read_bytes())
    return Store(copy)


def test_the_first_line_says_how_far_the_latest_survey_is(to_read, found, answer):
    row = surveys.surveys(found).row(0, named=True)
    far = progress(surveys.units_of(found, row["survey_id"]), row["starts_on"], found.as_of, figures().pace_limits)

    assert row["survey_id"] in answer(to_read("surveys"))
    assert surveys.progress_sentence(far) in answer(to_read("surveys"))


def test_figures_of_the_page_are_those_of_the_frames(to_read, found, answer):
    app = to_read("surveys", survey_id="S25")
    shown = texts(app)

    assert "S25: Audit: is it there?" in answer(app)
    for words in surveys.results_in_words(surveys.estimates(found, "S25"), surveys.confidence_of(found, "S25")):
        assert words in shown
    assert agreement.agreement_sentence(agreement.agreed(found).its).replace("'", "&#x27;") in shown


def test_what_a_survey_asks_is_shown_as_it_was_written(to_read, answer):
    assert "S26: Third inspection. Of 336 objects drawn" in answer(to_read("surveys", survey_id="S26"))


def test_a_survey_that_there_is_none_of_is_said(to_read, said):
    assert "The address asks for survey 'S99', and the register has no survey of this number." in said(
        to_read("surveys", survey_id="S99")
    ).replace("&#x27;", "'")


def test_a_new_one_is_drawn_when_a_person_says_so_and_what_was_typed_stays_until_then(page, own, said):
    app = page("surveys", own)
    app.text_input(key="draw_question").set_value("Is anything loose?").run()
    app.button(key="draw_note").click().run()
    assert "First give your name." in said(app)
    assert app.text_input(key="draw_question").value == "Is anything loose?"

    app.selectbox(key="draw_design").select("stratified").run()
    app.text_input(key="draw_by").set_value("Ida").run()
    app.button(key="draw_note").click().run()

    row = own.read()["survey"].filter(question="Is anything loose?").row(0, named=True)
    units = own.read()["survey_unit"].filter(survey_id=row["survey_id"])
    assert (row["sampling"], row["size"]) == ("stratified", units.height)
    assert units["stratum"].n_unique() > 1
    assert f"{row['survey_id']}: Is anything loose?" in texts(app)
    assert f"Of {units.height} objects drawn 0 were checked, {units.height} wait." in texts(app)
