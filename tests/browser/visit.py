"""A person's visit: pages opened in a browser profile of its own, and whatever went wrong while it lasted."""

import re

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import TimeoutError as PageTimeoutError

PLANTED = "1951.222"  # the object whose texts are planted: the first of the list, so that it stands on the first page
SLOW_MS = 30_000
QUIET = "!document.querySelector('[data-testid=stStatusWidget]') && !document.querySelector('[data-stale=true]')"
# True once nothing in the page has changed for so long: what is being drawn can be judged by nobody.
AT_REST = """still => new Promise(done => {
  let clock = setTimeout(() => done(true), still);
  new MutationObserver(() => { clearTimeout(clock); clock = setTimeout(() => done(true), still); })
    .observe(document.body, {childList: true, subtree: true, attributes: true});
})"""
STILL_MS = 400
# Streamlit asks under a page's own address first whether it is at home there, and then at the root.
PROBES = re.compile(
    r"/(object|condition|over_time|the_year|not_yet_checked|work_waiting|plan|surveys|loans|rooms|bring_in|deliveries|not_taken_in)"
    r"/_stcore/(health|host-config)$"
)


class Visit:
    """A fresh browser profile; what went wrong in it is kept."""

    def __init__(self, browser, address, **options):
        self.context = browser.new_context(viewport={"width": 1280, "height": 900}, **options)
        self.page, self.address = self.context.new_page(), address
        self.faults: list[str] = []
        self.page.on("console", lambda m: self._console(m))
        self.page.on("pageerror", lambda e: self.faults.append(str(e)))
        self.page.on("request", lambda r: self._request(r.url))

    def _console(self, message):
        if message.type == "error" and not PROBES.search(message.location.get("url", "")):
            self.faults.append(f"{message.text} {message.location.get('url', '')}")

    def _request(self, url):
        if not url.startswith((self.address, self.address.replace("http", "ws"), "data:", "blob:")):
            self.faults.append(f"asked for {url}")

    def open(self, path=""):
        self.page.goto(f"{self.address}/{path}")
        self.settle()
        return self.page

    def settle(self):
        self.page.wait_for_selector("[data-testid=stMain] .answer, [data-testid=stMain] .warn", timeout=SLOW_MS)
        self.page.wait_for_timeout(300)
        self.page.wait_for_function(QUIET, timeout=SLOW_MS)

    def rest(self):
        """Wait until the page stands still: filters and pictures are drawn after the answer."""
        self.page.evaluate(AT_REST, STILL_MS)

    def barriers(self):
        """What axe calls serious or critical: rule and first elements."""
        self.rest()
        grave = [
            each for each in Axe().run(self.page).response["violations"] if each["impact"] in ("serious", "critical")
        ]
        return [(each["id"], [node["html"][:160] for node in each["nodes"]][:3]) for each in grave]

    def unfold(self, summary):
        """Click until it is open: a click on a page that is being drawn anew may find nobody."""
        for _ in range(4):
            self.rest()
            if summary.evaluate("e => e.parentElement.open"):
                return
            summary.click()
            self.settle()
        raise AssertionError("it does not unfold")

    def follow(self, locator, address):
        """Click until the page has gone there: a click on a page that is being drawn anew may find nobody."""
        for _ in range(4):
            locator.click()
            try:
                self.page.wait_for_url(address, timeout=SLOW_MS / 4)
            except PageTimeoutError:
                continue
            return self.settle()
        raise AssertionError(f"the page did not go to {address.pattern}")

    def answer(self):
        return self.page.locator("[data-testid=stMain] .answer").first.inner_text()
