"""The page of rooms, run from the entry script: what befell a room, what is open, and writing down what was done."""

import shutil
from datetime import date
from html import unescape

import pytest

from collection import pipeline
from collection.questions import rooms
from collection.questions.air import Air
from collection.store import Store


@pytest.fixture(scope="module")
def air(demonstration, found) -> Air:
    return pipeline.air_of(demonstration, found)


@pytest.fixture
def own(demonstration, tmp_path) -> Store:
    """A copy of the demonstration to write to."""
    copied = Store(tmp_path / "own.duckdb")
    shutil.copyfile(demonstration.path, copied.path)
    return copied


def tables(app):
    return {frame.proto.id.split("-")[-1]: frame.value for frame in app.dataframe}


def test_the_first_line_says_where_it_is_urgent_and_what_to_mend_first(page, air, answer, said):
    app = page("rooms")

    assert not app.exception
    assert unescape(answer(app)) == f'<p class="answer">{rooms.rooms_sentence(air, rooms.rooms(air))}</p>'
    assert "Mend this: microclimate in Lower Store, room L2 (P0001)" in said(app)
    assert app.dataframe[0].value["Room, unit or shelf"].to_list() == rooms.rooms(air)["name"].to_list()


@pytest.mark.parametrize(
    ("place", "spell", "need"),
    [
        ("L2", "176 days above 45 %, 4 October 2022 to 28 March 2023", "35 to 48 %"),
        ("GW", "14 days above 28 °C, 15 July 2024 to 28 July 2024", "no target with a reason applies here"),
    ],
)
def test_what_befell_a_room_and_what_its_air_was_against_what_is_needed(page, said, place, spell, need):
    words = said(page("rooms", location_id=place))

    assert spell in words
    assert need in words
    assert "Against a surface of 12 °C" in words


def test_a_shelf_tells_of_itself_with_a_way_up(page, said):
    app = page("rooms", location_id="E1-4-2")

    assert not app.exception
    assert "All rooms" in said(app)
    assert "Gives off acid" in str(app.dataframe[1].value) + str([d.value.to_dict() for d in app.dataframe])


def test_a_place_the_register_does_not_have_is_said(page, said):
    words = said(page("rooms", location_id="ATTIC"))

    assert "The address asks for place 'ATTIC'" in unescape(words)


def test_a_fault_put_right_leaves_the_list_and_the_answer_says_so(page, own, said):
    app = page("rooms", store=own, location_id="L2")
    app.session_state["mended_fold"] = True
    app.run()
    app.text_input(key="mended_by").input("Ida")
    app.date_input(key="mended_on").set_value(date(2026, 9, 29))
    (button,) = (b for b in app.button if b.proto.form_id == "mended")
    button.click().run()

    assert "Written down: put right on 29 September 2026." in said(app)
    assert "No fault of a place is open here." in said(app)
    assert own.read()["place_check"].filter(location_id="L2-3")["mended_on"].to_list() == [date(2026, 9, 29)]


def test_a_renewed_sorbent_is_on_record_and_due_when_it_no_longer_lasts(page, own, said):
    app = page("rooms", store=own, location_id="E1-4")
    app.session_state["renewed_fold"] = True
    app.run()
    app.text_input(key="renewed_by").input("Ida")
    app.number_input(key="renewed_months").set_value(6.0)
    app.selectbox(key="renewed_place").set_value("E1-4-2")
    app.date_input(key="renewed_on").set_value(date(2026, 3, 1))
    (button,) = (b for b in app.button if b.proto.form_id == "renewed")
    button.click().run()

    assert "Written down: sorbent renewed on 1 March 2026." in said(app)
    row = own.read()["location"].filter(location_id="E1-4-2").row(0, named=True)
    assert (row["sorbent_renewed_on"], row["sorbent_lasts_months"]) == (date(2026, 3, 1), 6)
