"""What only a browser can tell: clicks lead where they should, an address is enough, files land, nothing leaves this machine."""

import io
import json
import re
from collections.abc import Iterator

import openpyxl
import polars as pl
import pytest

from collection.questions import selection
from tests.browser.visit import PICTURE, SLOW_MS, Visit

FILTERS = {its.label for its in selection.FILTERS}  # drawn after the page itself
ANSWER = "document.querySelector('[data-testid=stMain] .answer')?.innerText"
# What a control is, whatever happens to its node: a page that is drawn anew has new nodes.
NAMED = "e => [e.tagName, e.getAttribute('aria-label'), e.getAttribute('href'), e.textContent.trim()].join('|')"


@pytest.fixture
def visit(profile, address) -> Iterator[Visit]:
    made = Visit(profile, address)
    yield made
    made.close()
    assert made.faults == []


def test_a_click_on_a_bar_goes_to_the_place_and_back_returns(visit):
    page = visit.open()
    before = visit.answer()

    page.locator(".vega-embed .mark-rect path").first.click()
    page.wait_for_function("location.search.includes('location_id=')", timeout=SLOW_MS)
    visit.settle()
    inside = visit.answer()
    page.go_back()
    page.wait_for_function("!location.search.includes('location_id=')", timeout=SLOW_MS)
    page.wait_for_function(f"({ANSWER}) !== {json.dumps(inside)}", timeout=SLOW_MS)
    visit.settle()

    assert inside != before
    assert visit.answer() == before


def test_links_and_rows_open_the_object_and_the_filters_come_along(visit):
    page = visit.open("?location_id=L2")

    link = page.locator("[data-testid=stMain] .rows a[href*='object_id=']").first
    visit.follow(link, re.compile(r"/object\?.*object_id="))
    page.get_by_role("heading", name="Why this priority").wait_for(timeout=SLOW_MS)

    assert "location_id=L2" in page.url

    visit.follow(page.get_by_role("link", name="Back to the list"), re.compile(r"/(storeroom)?\?(?!.*object_id)"))
    page.get_by_text("Shown: 118 of 640 objects").wait_for(timeout=SLOW_MS)
    visit.settle()

    grid = page.locator("[data-testid=stDataFrame]").last
    grid.scroll_into_view_if_needed()
    page.wait_for_timeout(500)
    box = grid.locator("canvas").first.bounding_box()
    page.mouse.click(box["x"] + 160, box["y"] + 52)  # anywhere in the first row
    page.wait_for_url(re.compile(r"/object\?.*location_id=L2"), timeout=SLOW_MS)


@pytest.mark.parametrize("path", ["", "condition"])
def test_an_address_is_enough_for_another_browser(visit, other_profile, address, path):
    page = visit.open(path)
    find = page.get_by_label("Find", exact=True)
    find.fill("plaque")
    find.press("Enter")
    page.wait_for_function("location.search.includes('find=plaque')", timeout=SLOW_MS)
    page.get_by_text("Shown:").wait_for(timeout=SLOW_MS)
    visit.settle()

    other = Visit(other_profile, address)
    other.open(page.url.removeprefix(f"{address}/"))

    assert other.answer() == visit.answer()
    assert other.page.get_by_text("Shown:").inner_text() == page.get_by_text("Shown:").inner_text()
    other.close()


def test_a_download_lands_and_holds_what_is_shown(visit):
    page = visit.open("work_waiting?location_id=L2")

    with page.expect_download(timeout=SLOW_MS) as waiting:
        page.get_by_role("button", name="Download as shown (CSV)").last.click()
    data = waiting.value.path().read_bytes()
    read = pl.read_csv(io.BytesIO(data), infer_schema=False)

    rows = page.locator("[data-testid=stDataFrame] table[role=grid]").last.get_attribute("aria-rowcount")
    assert read.height == int(rows) - 1
    assert {"Number", "Hours, likely [h]"} <= set(read.columns)


def test_the_workbook_of_refused_rows_lands(visit):
    page = visit.open("not_taken_in")

    with page.expect_download(timeout=SLOW_MS) as waiting:
        page.get_by_role("button", name="Download the rows to correct (XLSX)").click()
    book = openpyxl.load_workbook(io.BytesIO(waiting.value.path().read_bytes()))
    rows = sum(max(sheet.max_row - 1, 0) for sheet in book.worksheets)

    assert visit.answer().startswith(f"{rows} rows were not taken")


def test_every_control_is_reached_by_keyboard(visit):
    page = visit.open()
    page.wait_for_function(f"document.querySelectorAll('[data-testid=stSidebar] input').length === {len(FILTERS)}")
    visit.rest()
    wanted = page.evaluate(
        "[...document.querySelectorAll('[data-testid=stMain] a, [data-testid=stMain] button, [data-testid=stSidebar] a,"
        " [data-testid=stSidebar] input, [data-testid=stMain] summary')]"
        f".filter(e => e.checkVisibility({{visibilityProperty: true}}) && !e.disabled && e.tabIndex >= 0).map({NAMED})"
    )
    met = set()
    for _ in range(len(wanted) * 3):
        page.keyboard.press("Tab")
        met.add(page.evaluate(f"({NAMED})(document.activeElement)"))

    assert {name.split("|")[1] for name in wanted} >= FILTERS
    assert len(set(wanted)) > 15
    assert set(wanted) <= met


def test_the_budget_is_moved_the_plan_changes_and_the_address_keeps_it(visit, other_profile, address):
    page = visit.open("plan")
    before = visit.answer()
    for label, key, amount in (
        ("Money a year [GBP]", "plan_money", "1000"),
        ("Enamel conservator a year [h]", "plan_hours_enamel_conservator", "60"),
    ):
        field = page.get_by_label(label, exact=True)
        field.fill(amount)
        field.press("Enter")
        page.wait_for_function(f"location.search.includes('{key}={amount}')", timeout=SLOW_MS)
        visit.settle()
    page.get_by_text("Planned for 3 years with 1,000 GBP a year and 60 hours").wait_for(timeout=SLOW_MS)
    page.locator(PICTURE).nth(1).wait_for(timeout=SLOW_MS)

    other = Visit(other_profile, address)
    there = other.open(page.url.removeprefix(f"{address}/"))
    visit.follow(page.get_by_role("link", name="Work waiting", exact=True), re.compile(r"/work_waiting\?"))
    visit.follow(page.get_by_role("link", name="Plan", exact=True), re.compile(r"/plan\?.*plan_money=1000"))

    assert visit.answer() == other.answer() != before
    assert there.get_by_label("Money a year [GBP]", exact=True).input_value() == "1000"
    assert page.get_by_label("Enamel conservator a year [h]", exact=True).input_value() == "60"
    other.close()


def test_rows_are_settled_and_taken_anyway_by_clicks(profile, other_profile, settling):
    address, store = settling
    visit = Visit(profile, address)
    page = visit.open("not_taken_in")

    page.get_by_role("button", name="Mark these rows as dealt with").click()
    page.get_by_text("First tick the rows and give your name and say how.").wait_for(timeout=SLOW_MS)
    for button, told in (
        ("Mark these rows as dealt with", "1 row is marked as dealt with."),
        ("Take them anyway", "still refused by the rules"),
    ):
        tick_first_row(visit)
        page.get_by_label("Your name").fill("Ida")
        page.get_by_label("How it was dealt with").fill("entered by hand")
        page.get_by_label("How it was dealt with").press("Tab")
        visit.settle()
        page.get_by_role("button", name=button).click()
        page.get_by_text(told).wait_for(timeout=SLOW_MS)
        visit.settle()
        if button == "Mark these rows as dealt with":  # the row now in its place is not ticked
            page.get_by_role("button", name="Take them anyway").click()
            page.get_by_text("First tick the rows.").wait_for(timeout=SLOW_MS)

    rows = store.read()["refused_row"]
    settled = rows["settled_by"].drop_nulls().to_list()
    visit.close()
    assert visit.faults == []
    assert [s for s in settled if s.startswith("Ida, ") and s.endswith(": entered by hand")]
    assert f"{rows.height - len(settled)} of them still to be dealt with" in visit_again(other_profile, address)


def visit_again(other_profile, address):
    """The answer of the page of refused rows in another browser."""
    visit = Visit(other_profile, address)
    visit.open("not_taken_in")
    told = visit.answer()
    visit.close()
    return told


def tick_first_row(visit):
    grid = visit.page.locator("[data-testid=stDataFrame]").first
    grid.scroll_into_view_if_needed()
    visit.page.wait_for_timeout(500)
    box = grid.locator("canvas").first.bounding_box()
    visit.page.mouse.click(box["x"] + 18, box["y"] + 52)
    visit.settle()
