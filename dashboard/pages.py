"""The list of pages, once: file, title, address, whether the filters narrow it."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Page:
    """One page. `about_objects`: it has nothing to show while the register holds no object."""

    file: str
    title: str
    address: str
    filtered: bool = True
    about_objects: bool = True


PAGES = (
    Page("views/storeroom.py", "Storeroom", "storeroom"),
    Page("views/object.py", "Object", "object", filtered=False),
    Page("views/condition.py", "Condition", "condition"),
    Page("views/over_time.py", "Over time", "over_time"),
    Page("views/not_yet_checked.py", "Not yet checked", "not_yet_checked"),
    Page("views/work_waiting.py", "Work waiting", "work_waiting"),
    Page("views/plan.py", "Plan", "plan", filtered=False),
    Page("views/loans.py", "Loans", "loans", filtered=False),
    Page("views/rates.py", "Rates", "rates", filtered=False),
    Page("views/back_test.py", "Back-test", "back_test", filtered=False),
    Page("views/not_taken_in.py", "Rows not taken in", "not_taken_in", filtered=False, about_objects=False),
)
START = PAGES[0]
