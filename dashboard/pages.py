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
    Page("views/not_yet_seen.py", "Not yet seen", "not_yet_seen"),
    Page("views/backlog.py", "Backlog", "backlog"),
    Page("views/refused.py", "Refused rows", "refused", filtered=False, about_objects=False),
)
START = PAGES[0]
