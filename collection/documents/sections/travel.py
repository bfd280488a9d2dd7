"""May it travel? The verdict, its reasons by the numbers of the tables, what would make it fit, and who releases it."""

from collections.abc import Iterator

from collection.documents.case import Case
from collection.documents.cells import Row, facts, paragraphs, to_write
from collection.documents.document import Block
from collection.documents.words import say, text, title
from collection.loans.rules import FIT, NOT_FIT


def travel(case: Case) -> Iterator[Block]:
    """The first block of a report."""
    also = case.also
    if not also.verdict:
        yield Block("text", title("travel"), paragraphs([text("not_judged")]))
        return
    head = {
        "label": also.verdict_words.upper() if also.verdict == NOT_FIT else also.verdict_words,
        "tone": also.verdict,
    }
    yield Block("verdict", title("travel"), (head, *({"text": words} for words in reasons(case))))
    if also.verdict == NOT_FIT:
        rows = facts(("fit_when", "; ".join(also.fit_when)), ("takes", also.takes), ("time", also.time))
        yield Block("facts", "", rows)
    if also.verdict != FIT:
        yield Block("write", "", to_write("released"))


def reasons(case: Case) -> list[str]:
    """Each reason once, those against first, with the number of the table it rests on."""
    ordered = sorted(case.also.reasons, key=lambda row: (row["verdict"] != NOT_FIT, _place(case, row)))
    return list(dict.fromkeys(_words(case, row) for row in ordered))


def _words(case: Case, row: Row) -> str:
    number = case.numbers_by_hazard.get(row["hazard_id"] or "", "")
    reason = f"{row['reason'][:1].upper()}{row['reason'][1:]}"
    return say("reason", no=number, reason=row["reason"]) if number else reason


def _place(case: Case, row: Row) -> int:
    """Where in the tables a reason stands; what has no number comes after those that have one."""
    numbers = list(case.numbers_by_hazard)
    return numbers.index(row["hazard_id"]) if row["hazard_id"] in numbers else len(numbers)
