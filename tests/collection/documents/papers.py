"""Every kind of paper, written as the commands write it."""

from collections.abc import Callable, Mapping

from collection.documents.disclosed import disclosed
from collection.documents.document import Document
from collection.documents.lists import cover_list, walk_list
from collection.documents.loan_report import card, loan_report, short_form
from collection.documents.plan_page import plan_page
from collection.documents.public import publication
from collection.documents.year_page import statement_page, trustees_page
from collection.plan.plan import make_plan
from collection.questions.statement import statement
from collection.questions.triage import Triage
from collection.questions.walk import walk
from collection.questions.words import coverage_sentence
from tests.collection.plan.tiny import tiny


def report_of(
    triage: Triage, object_id: str = "V.1", *, state: str = "outgoing", loan_id: str | None = None, short: bool = False
) -> Document:
    """The report of one object, or its short form."""
    shown, also = publication(triage.collection, object_id, disclosed(triage, [object_id], loan_id)[object_id])
    return (short_form if short else loan_report)(shown, object_id, state, triage.as_of, loan_id, also)


def card_of(triage: Triage, object_id: str = "V.1") -> Document:
    shown, also = publication(triage.collection, object_id, disclosed(triage, [object_id], None)[object_id])
    return card(shown, object_id, triage.as_of, also)


def walk_of(triage: Triage) -> Document:
    return walk_list(walk(triage, triage.objects), coverage_sentence(triage.coverage()), triage.as_of)


def statement_of(triage: Triage) -> Document:
    rows = statement(triage, triage.as_of.year)
    return statement_page(triage, triage.as_of.year, rows, rows)


KINDS: Mapping[str, Callable[[Triage], Document]] = {
    "report": report_of,
    "short form": lambda triage: report_of(triage, short=True),
    "card": card_of,
    "cover list": lambda triage: cover_list(triage, "L1"),
    "walk list": walk_of,
    "director's page": lambda triage: plan_page(triage, make_plan(tiny()), "Planned for 2 years."),
    "statement": statement_of,
    "trustees' page": lambda triage: trustees_page(triage, None),
}
