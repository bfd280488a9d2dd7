"""From nothing to a ranked storeroom by clicks alone: a catalogue, a list of checks, and one of them taken back."""

import re

import pytest

from tests.browser.visit import SLOW_MS, Visit

CATALOGUE = b"""Inv. no.;Title;Material;Height
A.1;Bowl;Cloisonne enamel on copper;12
A.2;Tray;Champleve enamel on copper alloy;30
"""
CHECKS = b"""Inv. no.,Date,Surveyor,Condition,Remarks
A.1,03/04/2024,R. Alder,4,"lifting at the rim, active"
A.2,05/06/2024,R. Alder,good,
"""


@pytest.fixture
def visit(profile, empty_folder):
    made = Visit(profile, empty_folder[0])
    yield made
    made.close()
    assert made.faults == []


def send(visit, name, data):
    visit.page.locator("input[type=file]").set_input_files({"name": name, "mimeType": "text/csv", "buffer": data})
    visit.page.get_by_role("heading", name="What it holds").wait_for(timeout=SLOW_MS)
    visit.settle()


def choose(visit, name, option):
    visit.page.get_by_label(name).click()
    visit.page.get_by_role("option", name=option).click()
    visit.settle()


def bring(visit, says):
    page = visit.page
    page.get_by_role("button", name="Show what would happen").click()
    page.get_by_text("Nothing is written yet.").wait_for(timeout=SLOW_MS)
    visit.settle()
    page.get_by_label("Your name").fill("Ida")
    page.get_by_label("Your name").press("Tab")
    visit.settle()
    page.get_by_role("button", name="Bring in", exact=True).click()
    page.get_by_text(says).wait_for(timeout=SLOW_MS)
    visit.settle()


def test_a_catalogue_and_checks_come_in_the_storeroom_is_ranked_and_one_is_undone(visit, empty_folder):
    store, page = empty_folder[1], visit.open()
    visit.follow(page.get_by_role("link", name="Bring in"), re.compile("/bring_in"))

    send(visit, "catalogue.csv", CATALOGUE)
    choose(visit, "Which unit is meant", "cm")
    bring(visit, "catalogue.csv is brought in as D1. 2 rows: 2 new.")
    page.get_by_role("button", name="Bring in another file").click()
    page.get_by_text("Choose a file of your museum").wait_for(timeout=SLOW_MS)
    send(visit, "checks.csv", CHECKS)
    choose(visit, "It is", "A list of checks")
    choose(visit, "What is 03/04/2024", "3 April 2024")
    choose(visit, "stands \u20184\u2019", "Unacceptable")
    bring(visit, "checks.csv is brought in as D2. 2 rows: 2 new.")

    assert store.read()["object"]["height_mm"].to_list() == [120, 300]
    visit.follow(page.get_by_role("link", name="The storeroom: what needs"), re.compile("/(storeroom)?$"))
    assert "1 object needs attention now" in visit.answer()
    visit.follow(page.get_by_role("link", name="Deliveries", exact=True), re.compile("/deliveries"))
    page.get_by_label("Your name").fill("Ida")
    page.get_by_label("Your name").press("Tab")
    visit.settle()
    page.get_by_role("button", name="Undo D2").click()
    page.get_by_text("D2 is undone: left the register").wait_for(timeout=SLOW_MS)
    assert store.read()["condition_check"].is_empty()
