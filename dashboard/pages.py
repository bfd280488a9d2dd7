"""The list of pages, once: file, title, address, whether filters narrow it; and what they import, loaded at the start.

Two threads that import at once may see half a module, so that all is loaded before anybody asks.
"""

import ast
from collections.abc import Iterator
from dataclasses import dataclass
from importlib import import_module
from importlib.util import find_spec
from pathlib import Path

HERE = Path(__file__).parent
ALSO = ("pandas",)  # altair looks for it in what is loaded, and would see half of it while Streamlit loads it


@dataclass(frozen=True)
class Page:
    """One page. `group`: the heading it stands under. `about_objects`: nothing to show while no object is there;
    `needs_store`: nor where there is no store yet."""

    file: str
    title: str
    address: str
    group: str
    filtered: bool = True
    about_objects: bool = True
    needs_store: bool = True


NOW, UNDERSTAND, DECIDE, DO, REGISTER = "Now", "Understand", "Decide", "Do", "Register"
PAGES = (
    Page("views/storeroom.py", "Storeroom", "storeroom", NOW),
    Page("views/object.py", "Object", "object", NOW, filtered=False),
    Page("views/not_yet_checked.py", "Not yet checked", "not_yet_checked", NOW),
    Page("views/work_waiting.py", "Work waiting", "work_waiting", NOW),
    Page("views/condition.py", "Condition", "condition", UNDERSTAND),
    Page("views/over_time.py", "Over time", "over_time", UNDERSTAND),
    Page("views/the_year.py", "The year", "the_year", UNDERSTAND, filtered=False),
    Page("views/rooms.py", "Rooms", "rooms", UNDERSTAND, filtered=False),
    Page("views/rates.py", "Rates", "rates", UNDERSTAND, filtered=False),
    Page("views/back_test.py", "Back-test", "back_test", UNDERSTAND, filtered=False),
    Page("views/plan.py", "Plan", "plan", DECIDE, filtered=False),
    Page("views/surveys.py", "Surveys", "surveys", DECIDE, filtered=False),
    Page("views/loans.py", "Loans", "loans", DO, filtered=False),
    Page("views/bring_in.py", "Bring in", "bring_in", REGISTER, filtered=False, about_objects=False, needs_store=False),
    Page("views/deliveries.py", "Deliveries", "deliveries", REGISTER, filtered=False, about_objects=False),
    Page("views/not_taken_in.py", "Rows not taken in", "not_taken_in", REGISTER, filtered=False, about_objects=False),
)
START = PAGES[0]
BRING_IN = next(page for page in PAGES if not page.needs_store)


def load_all() -> None:
    """Import what the frame and every page import."""
    for name in ALSO:
        import_module(name)
    for path in (HERE / "app.py", *(HERE / page.file for page in PAGES)):
        for name in imported_by(path):
            import_module(name)


def imported_by(path: Path) -> Iterator[str]:
    """Modules that a file imports at its top, modules named after `from` too."""
    for node in ast.parse(path.read_text("utf-8")).body:
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            yield node.module
            parts = [f"{node.module}.{alias.name}" for alias in node.names]
            yield from (name for name in parts if hasattr(import_module(node.module), "__path__") and find_spec(name))
