"""Stages of the loan: those so far, the signatures for this one, and a block to sign for each that follows."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime

from collection.documents.case import Case
from collection.documents.cells import Row, coded, figure, joined, moment_words, paragraphs, quantity, term, where
from collection.documents.document import Block
from collection.documents.sections.check import sides, swapped
from collection.documents.sections.condition import kind, letting_go, noun
from collection.documents.words import columns, say, text, title
from schemas.vocabularies import vocabulary


def states(case: Case) -> Iterator[Block]:
    """Earlier entries of this loan, oldest first; one signature is marked unilateral."""
    names = columns("stated_on", "state_name", "place", "observed_packing", "ours", "theirs", "standing")
    yield Block("table", title("states"), tuple(_entry(case, row) for row in case.earlier), names)


def sign(case: Case) -> Iterator[Block]:
    """Name, qualification, place, day and signature for both sides; what is already signed is printed."""
    stated: Row = case.stated or {}
    signs = ("theirs", "ours") if swapped(case) else ("ours", "theirs")  # the lender first, whoever that is
    named = zip(sides(case), signs, strict=True)
    rows = tuple({"label": _side(body), "text": _signed(case, stated, side)} for body, side in named)
    yield Block("signatures", title("sign"), rows)
    both = [_standing(stated)] if stated else []
    yield Block("text", "", paragraphs([*both, text("append_only"), text("copying")]))


def short_sign(case: Case) -> Iterator[Block]:
    """The same without what holds of every stage."""
    yield from (block for block in sign(case) if block.kind != "text")


def entries(case: Case) -> Iterator[Block]:
    """A block to sign for each stage that follows: two for every venue, and one for the way back."""
    stages = _ahead(case)
    ours, theirs = map(_side, sides(case))
    for n, (stage, venue) in enumerate(stages, 1):
        named = vocabulary("loan_state").term[stage].label.lower()
        head = say("entry_at" if venue else "entry", n=n, all=len(stages), state=named, venue=venue)
        rows = ({"label": head}, *_numbered(case), {"ours": ours, "theirs": theirs})
        yield Block("entry", title("entry") if n == 1 else "", rows)


def one_entry(case: Case) -> Iterator[Block]:
    """The next stage only, for the short form."""
    yield from list(entries(case))[:1]


def _ahead(case: Case) -> Sequence[tuple[str, str]]:
    """Stages that are signed after this one, with the venue of each."""
    venues = [leg["venue"] or "" for leg in case.of_loan("loan_leg", "leg")] or [""]
    states = vocabulary("loan_state")
    (arriving,), (leaving,), (back,) = (states.terms_where(flag) for flag in ("arriving", "leaving", "back"))
    each = [(stage, venue) for venue in venues for stage in (arriving, leaving)]
    return [*each, (back, "")]


def _numbered(case: Case) -> list[Mapping[str, str]]:
    """Every number of the tables with a word for it."""
    damages = [{"no": row["no"], "text": joined(kind(row).lower(), where(row))} for row in case.damages]
    lets_go = {row["no"] for row in letting_go(case)}
    mine = [row for row in case.repairs if row["no"] in lets_go]
    repairs = [{"no": row["no"], "text": joined(noun(row), where(row))} for row in mine]
    return [*damages, *repairs]


def _side(body: str) -> str:
    return say("our_side", body=body) if body else say("other_side")


def _entry(case: Case, row: Row) -> Mapping[str, str]:
    air = say("air", temperature=figure(row["temperature_c"]), humidity=figure(row["rh_percent"]))
    known = row["temperature_c"] is not None and row["rh_percent"] is not None
    closed = quantity("loan_state", "hours_closed", row["hours_closed"])
    packing = (row["packing_as_found"], row["shock_indicator"], row["seal"], closed, air if known else "")
    return {
        "stated_on": _moment(case, row["stated_on"]),
        "state_name": term("loan_state", "state", row["state"]),
        "place": row["place"] or say("not_said"),
        "observed_packing": joined(*packing, by="; ") or say("not_said"),
        "ours": _signed(case, row, "ours"),
        "theirs": _signed(case, row, "theirs"),
        "standing": _standing(row),
    } | coded(state=row["state"])


def _signed(case: Case, row: Row, side: str) -> str:
    name, when = row.get(f"person_{side}"), row.get(f"signed_{side}_on")
    return say("signed", name=name, when=_moment(case, when)) if name and when else say("unsigned")


def _moment(case: Case, value: datetime) -> str:
    return moment_words(value, case.setting("time_zone"))


def _standing(row: Row) -> str:
    signed = [side for side in ("ours", "theirs") if row.get(f"person_{side}") and row.get(f"signed_{side}_on")]
    return say({0: "unsigned", 1: "unilateral"}.get(len(signed), "both"))
