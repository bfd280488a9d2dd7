"""How it is held, mounted, packed and shown, and what to do if something falls off."""

from collections.abc import Iterator

from collection.documents.case import Case
from collection.documents.cells import always, facts, joined, paragraphs, term
from collection.documents.document import Block
from collection.documents.sections.check import swapped
from collection.documents.sections.condition import letting_go, loose, moving
from collection.documents.sections.travel import unstable
from collection.documents.words import say, texts, title
from schemas.vocabularies import vocabulary


def standing(case: Case) -> Iterator[Block]:
    """What holds for every enamel, and what this one asks for besides."""
    holds = {"always", *(["unstable"] if unstable(case) else []), *(["loose"] if _sheds(case) else [])}
    yield Block("list", title("standing"), paragraphs(s["text"] for s in texts("standing") if s["when"] in holds))


def handling(case: Case) -> Iterator[Block]:
    """Where it may be held, by how many, how it lies, mount and case, crate and packing."""
    people, agreed = case.agreed_or_required("people"), case.terms_of_loan
    rows = always(
        ("lift", _text(case, "handling_points")),
        ("people", _people(people)),
        ("orientation", term("requirement", "orientation", case.agreed_or_required("orientation"))),
        ("mount", _text(case, "mount")),
        ("case_need", _text(case, "case_need")),
        ("crate", agreed.get("crate_no")),
        ("how_packed", agreed.get("packing")),
    )
    yield Block("facts", title("handling"), (*rows, *facts(("named", agreed.get("areas_to_watch")))))
    conflict = _not_level(case)
    yield Block("text", "", paragraphs([conflict]))
    yield Block("list", "", paragraphs(s["text"] for s in texts("handling")))


def needs(case: Case) -> Iterator[Block]:
    """What the object requires, whatever the loan."""
    of_object = case.requirement
    people = of_object.get("people")
    rows = always(
        ("lift", of_object.get("handling_points")),
        ("people", _people(people)),
        ("orientation", term("requirement", "orientation", of_object.get("orientation"))),
        ("mount", of_object.get("mount")),
        ("case_need", of_object.get("case_need")),
    )
    yield Block("facts", title("needs"), (*rows, *facts(("why", of_object.get("reason")))))


def short_handling(case: Case) -> Iterator[Block]:
    """The same, without what holds of every enamel."""
    yield from (block for block in handling(case) if block.kind != "list")


def falls_off(case: Case) -> Iterator[Block]:
    """What to do if something falls off, and whom to telephone: the lender first."""
    yield Block("steps", title("falls_off"), paragraphs(step["text"] for step in texts("falls_off")))
    numbers = contacts(case)
    rows = always(
        ("lender_number", numbers["lender"]),
        ("courier_number", numbers["courier"]),
        ("borrower_number", numbers["borrower"]),
    )
    yield Block("facts", "", rows)


def contacts(case: Case) -> dict[str, str | None]:
    """Telephone numbers by side; the one number of an older record is that of the other side."""
    loan = case.loan or {}
    other = "lender" if swapped(case) else "borrower"
    named = {side: loan.get(f"{side}_contact") for side in ("lender", "courier", "borrower")}
    return named | {other: named[other] or loan.get("emergency_contact")}


def _people(count: object) -> str:
    if count is None:
        return ""
    return say("people_one") if count == 1 else say("people_several", count=count)


def _text(case: Case, name: str) -> str:
    value = case.agreed_or_required(name)
    return "" if value is None else str(value)


def _not_level(case: Case) -> str:
    """That something lifts or lies loose, and the object is to travel standing; empty where that does not meet."""
    asked = case.agreed_or_required("orientation")
    if asked not in vocabulary("orientation").terms_where("not_level"):
        return ""
    lifts = vocabulary("damage").terms_where("lifts")
    numbers = [row["no"] for row in case.damages if row["kind"] in lifts]
    orientation = term("requirement", "orientation", asked).lower()
    return say("level_conflict", numbers=joined(*numbers), orientation=orientation) if numbers else ""


def _sheds(case: Case) -> bool:
    """Something is loose, or moves in a way that asks to be secured."""
    kinds = vocabulary("damage").terms_where("secure")
    return bool(loose(case) or letting_go(case)) or any(row["kind"] in kinds for row in moving(case))
