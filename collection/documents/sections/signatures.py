"""States so far, signatures for this state, and the entry for the next: append-only, both sides."""

from collections.abc import Iterator, Mapping, Sequence

from collection.documents.case import Case
from collection.documents.cells import Row, coded, joined, paragraphs, term
from collection.documents.document import Block
from collection.documents.sections.identity import sides
from collection.documents.words import columns, label, say, text, title
from schemas.vocabularies import vocabulary

MINUTES = "minutes"


def states(case: Case) -> Iterator[Block]:
    """Earlier entries of this loan, oldest first; one signature is marked unilateral."""
    names = columns("stated_on", "state_name", "place", "found", "ours", "theirs", "standing")
    yield Block("table", title("states"), tuple(map(_entry, case.earlier)), names)


def sign(case: Case) -> Iterator[Block]:
    """Name, role, place, day and signature for both sides; what is already signed is printed."""
    ours, theirs = sides(case)
    stated: Row = case.stated or {}
    rows = (
        {"label": _side(ours), "text": _signed(stated, "ours")},
        {"label": _side(theirs), "text": _signed(stated, "theirs")},
    )
    yield Block("signatures", title("sign"), rows)
    both = [_standing(stated)] if stated else []
    yield Block("text", "", paragraphs([*both, text("append_only"), text("copying")]))


def entries(case: Case) -> Iterator[Block]:
    """A blank entry for each leg of the loan and one for the way back; one where no loan is on record."""
    legs: Sequence[Row] = case.of_loan("loan_leg", "leg")
    venues = [*(leg["venue"] or "" for leg in legs), ""]
    names = joined(*(entry.label for entry in vocabulary("loan_state").term.values()), by="|")
    ours, theirs = map(_side, sides(case))
    for n, venue in enumerate(venues, 1):
        word = "entry_for" if venue else "entry"
        rows = (
            {
                "label": say(word, n=n, all=len(venues), venue=venue),
                "choices": names,
                "ours": ours,
                "theirs": theirs,
            },
        )
        yield Block("entry", title("entry") if n == 1 else "", rows)


def code(_: Case) -> Iterator[Block]:
    """Where the content code is printed; the code itself cannot stand in what it is made from."""
    yield Block("code", title("code"), ({"label": label("code")},))


def _side(body: str) -> str:
    return say("our_side", body=body) if body else say("other_side")


def _entry(row: Row) -> Mapping[str, str]:
    return {
        "stated_on": row["stated_on"].isoformat(" ", MINUTES),
        "state_name": term("loan_state", "state", row["state"]),
        "place": row["place"] or say("not_said"),
        "found": joined(row["packing_as_found"], row["shock_indicator"], by="; ") or say("not_said"),
        "ours": _signed(row, "ours"),
        "theirs": _signed(row, "theirs"),
        "standing": _standing(row),
    } | coded(state=row["state"])


def _signed(row: Row, side: str) -> str:
    name, when = row.get(f"person_{side}"), row.get(f"signed_{side}_on")
    return say("signed", name=name, when=when.isoformat(" ", MINUTES)) if name and when else say("unsigned")


def _standing(row: Row) -> str:
    signed = [side for side in ("ours", "theirs") if row.get(f"person_{side}") and row.get(f"signed_{side}_on")]
    return say({0: "unsigned", 1: "unilateral"}.get(len(signed), "both"))
