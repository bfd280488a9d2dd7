"""A person's visit: pages opened in a browser profile of its own, and whatever went wrong while it lasted."""

import re

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import TimeoutError as PageTimeoutError

PLANTED = "1951.222"  # the object whose texts are planted: the first of the list, so that it stands on the first page
SLOW_MS = 30_000
PICTURE = ".vega-embed svg, .vega-embed canvas"
# True once the page has answered, the server has drawn it to the end, and nothing in it has changed for so long. What is
# being drawn can be judged by nobody. A rerun is noted in the page the moment it is asked for. `since` is a wait's own
# number where what came before does not count, and null where it does.
AT_REST = """([still, since]) => {
  const watch = window.watchOfTests ??= {since: null, changed: performance.now()};
  const now = performance.now();
  if (!watch.observer) {
    watch.observer = new MutationObserver(() => { watch.changed = performance.now(); });
    watch.observer.observe(document.body, {childList: true, subtree: true, attributes: true});
  }
  const app = document.querySelector('[data-testid=stApp]');
  const drawn = app?.dataset.testScriptState === 'notRunning' && app.dataset.testConnectionState === 'CONNECTED'
    && document.querySelector('[data-testid=stMain] .answer, [data-testid=stMain] .warn')
    && !document.querySelector('[data-testid=stStatusWidget], [data-stale=true]');
  if (!drawn || (since !== null && since !== watch.since)) watch.changed = now;
  watch.since = since ?? watch.since;
  return now - watch.changed >= still;
}"""
SHOWN = "['h1', '.answer, .warn'].map(s => document.querySelector(`[data-testid=stMain] ${s}`)?.innerText).join('|')"
GO = "address => { history.pushState({}, '', address); dispatchEvent(new PopStateEvent('popstate')); }"
SETTLED_MS, STILL_MS = 200, 400
# Streamlit asks under a page's own address first whether it is at home there, and then at the root.
PROBES = re.compile(
    r"/(object|condition|over_time|the_year|not_yet_checked|work_waiting|plan|surveys|loans|rooms|rates|back_test|bring_in|deliveries|not_taken_in)"
    r"/_stcore/(health|host-config)$"
)


class Visit:
    """A window of a browser profile in which the pages have noted nothing yet; what went wrong in it is kept."""

    def __init__(self, profile, address, width=1280, scheme="light"):
        self.page, self.address = profile.new_page(), address
        self.page.set_viewport_size({"width": width, "height": 900})
        self.page.emulate_media(color_scheme=scheme)
        self.faults: list[str] = []
        self._waits = 0
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

    def go(self, path):
        """Another address in the same window, as a link within the pages or a step back leads there: title or answer
        are others, and the page is drawn to the end."""
        before = self.page.evaluate(SHOWN)
        self.page.evaluate(GO, f"/{path}")
        self.page.wait_for_function(f"before => {SHOWN} !== before", arg=before, polling=50, timeout=SLOW_MS)
        self.settle()
        return self.page

    def settle(self):
        """Wait until what was done just now is answered and drawn."""
        self._waits += 1
        self._wait(SETTLED_MS, self._waits)

    def rest(self):
        """Wait until the page stands still: filters and pictures are drawn after the answer."""
        self._wait(STILL_MS, None)

    def _wait(self, still, since):
        self.page.wait_for_function(AT_REST, arg=[still, since], polling=50, timeout=SLOW_MS)

    def close(self):
        """Leave nothing behind in the profile."""
        self.page.evaluate("localStorage.clear()")
        self.page.context.clear_cookies()
        self.page.close()

    def barriers(self):
        """What axe calls serious or critical: rule and first elements."""
        self.rest()
        grave = [
            each for each in Axe().run(self.page).response["violations"] if each["impact"] in ("serious", "critical")
        ]
        return [(each["id"], [node["html"][:160] for node in each["nodes"]][:3]) for each in grave]

    def unfold(self, summaries):
        """Click until all are open: a click on a page that is being drawn anew may find nobody."""
        for _ in range(4):
            self.rest()
            folded = [each for each in summaries if not each.evaluate("e => e.parentElement.open")]
            if not folded:
                return
            for each in folded:
                each.click()
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
