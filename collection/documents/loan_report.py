"""From the public records of one object to a document as a value: loan report, short form, card."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date

from collection.documents.case import Case
from collection.documents.disclosed import Disclosed
from collection.documents.document import Block, Document
from collection.documents.sections import (
    added_material,
    check,
    closing,
    condition,
    dangers,
    handling,
    identity,
    photographs,
    stages,
    travel,
)
from collection.documents.words import title, words
from collection.snapshot import Collection
from schemas.vocabularies import vocabulary

Section = Callable[[Case], Iterator[Block]]
# In the order a reader meets them: may it travel, dangers, what it is, how it is, how to keep it, who signs.
WHOLE: Sequence[Section] = (
    travel.travel,
    dangers.dangers,
    identity.identity,
    identity.construction,
    check.check,
    check.not_examined,
    photographs.pictures,
    condition.overall,
    condition.condition,
    added_material.added,
    added_material.treatments,
    added_material.fragments,
    added_material.documents,
    travel.limits,
    handling.standing,
    handling.handling,
    handling.falls_off,
    stages.states,
    stages.sign,
    stages.entries,
    closing.words_used,
    closing.code,
)
# Two pages for one object that a courier carries.
SHORT: Sequence[Section] = (
    travel.travel,
    dangers.dangers,
    identity.short_identity,
    condition.short_condition,
    travel.known_limits,
    handling.short_handling,
    handling.falls_off,
    stages.short_sign,
    stages.one_entry,
    closing.code,
)

# To hang at the place of an object: what it needs, whatever the loan.
CARD: Sequence[Section] = (
    dangers.dangers,
    identity.short_identity,
    handling.needs,
    travel.needed_limits,
    handling.standing,
    closing.code,
)


def loan_report(
    public: Collection, object_id: str, state: str, made_on: date, loan_id: str | None = None,
    also: Disclosed | None = None,
) -> Document:  # fmt: skip
    """The report of one object; `public` holds its public records only (see `collection.documents.public`)."""
    return _written(Case(public, object_id, state, made_on, loan_id, also or Disclosed()), WHOLE, "report")


def short_form(
    public: Collection, object_id: str, state: str, made_on: date, loan_id: str | None = None,
    also: Disclosed | None = None,
) -> Document:  # fmt: skip
    """The same in two pages, for one couriered object."""
    return _written(Case(public, object_id, state, made_on, loan_id, also or Disclosed()), SHORT, "short")


def card(public: Collection, object_id: str, made_on: date, also: Disclosed) -> Document:
    """What one object needs, on one page, to hang at its place."""
    (stage, *_) = vocabulary("loan_state").term
    return replace(_written(Case(public, object_id, stage, made_on, None, also), CARD, "card"), state="")


def _written(case: Case, sections: Sequence[Section], form: str) -> Document:
    name = case.object_row["title"]
    return Document(
        number=case.object_id,
        title=f"{title(form)}: {case.object_id}" + (f", {name}" if name else ""),
        state=vocabulary("loan_state").term[case.state].label,
        made_on=case.made_on,
        blocks=tuple(block for section in sections for block in section(case) if block.rows),
        rules_version=words()["version"],
        language=words()["language"],
    )


FORMS: Mapping[bool, Callable[..., Document]] = {False: loan_report, True: short_form}
