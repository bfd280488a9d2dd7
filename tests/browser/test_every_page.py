"""Every page in a browser: it draws, fits its window, obeys no text of a record and keeps nobody out."""

import pytest
from playwright.sync_api import Page
from playwright.sync_api import TimeoutError as PageTimeoutError

from dashboard import pages
from tests.browser.visit import PICTURE, PLANTED, SLOW_MS, Visit
from tests.dashboard.planted import EVERYTHING

OBEYED = "a[href*='evil'], [src*='evil'], .katex"
# Every page; where an address of its own shows more than the page alone, that too.
ALSO = {"surveys": "surveys?survey_id=S19", "rooms": "rooms?location_id=L2"}
OF_ONE = {pages.START.address: "", "object": "object?object_id=1961.1"}
EACH = [OF_ONE.get(its.address, its.address) for its in pages.PAGES]
PAGES = [path for each in EACH for path in dict.fromkeys((each, ALSO.get(each, each)))]
NO_PICTURE = ("object?object_id=1961.1", "the_year", "loans", "rooms", "bring_in", "deliveries", "not_taken_in")
# The window itself never scrolls sideways: what is too wide does so within the page.
TOO_WIDE = """['html', '[data-testid=stMain]'].filter(each => {
  const box = document.querySelector(each);
  return box && box.clientWidth > 0 && box.scrollWidth > box.clientWidth + 1;
})"""


@pytest.mark.parametrize(
    ("width", "scheme", "paths"), [(1280, "light", PAGES), (390, "dark", PAGES), (1280, "dark", [""])]
)
def test_every_page_draws_fits_obeys_no_text_and_keeps_nobody_out(profile, planted_address, width, scheme, paths):
    """Every text of one object, and of all places, people and rows refused, is planted; no fault: nobody was asked."""
    visit = Visit(profile, planted_address, width, scheme)
    faults = [fault for path in paths for fault in _faults_of(visit, path)]
    visit.close()

    assert visit.faults == []
    assert faults == []


def test_an_object_whose_every_text_is_planted_obeys_none_with_all_unfolded(profile, planted_address):
    visit = Visit(profile, planted_address, 390, "dark")
    page = visit.open(f"object?object_id={PLANTED}")
    page.get_by_text("As it was written in the files").wait_for(timeout=SLOW_MS)  # the last of the page
    visit.unfold(page.locator("[data-testid=stMain] summary").all())
    page.locator("[data-testid=stDataFrame]").nth(3).wait_for(state="attached", timeout=SLOW_MS)

    assert EVERYTHING[:120] in page.locator("h1").first.inner_text().replace("\u2060", "")
    assert _obeyed(page) == []
    assert page.evaluate(TOO_WIDE) == []
    visit.close()
    assert visit.faults == []


def _faults_of(visit: Visit, path: str) -> list[tuple[object, ...]]:
    """What a page does that it should not: its path, then what is obeyed, too wide, or a barrier in the way of people."""
    page = visit.go(path) if path else visit.open()
    if path not in NO_PICTURE:
        _wait_for_picture(page, path)
    barriers = visit.barriers()
    return [(path, *each) for each in (*barriers, *((each,) for each in (*_obeyed(page), *page.evaluate(TOO_WIDE))))]


def _obeyed(page: Page) -> list[str]:
    """Links, pictures and formulas that came of text in records."""
    return [each.evaluate("e => e.outerHTML")[:160] for each in page.locator(OBEYED).all()]


def _wait_for_picture(page: Page, path: str) -> None:
    try:
        page.wait_for_selector(PICTURE, timeout=SLOW_MS)
    except PageTimeoutError:
        pytest.fail(f"page '{path}' draws no picture: enter it in NO_PICTURE if it is to have none")
