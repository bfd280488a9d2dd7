"""From the public records of one object to the report as a value: the order of its blocks."""

from collections.abc import Callable, Iterator
from datetime import date

from collection.documents.case import Case
from collection.documents.document import Block, Document
from collection.documents.sections import added_material, care, condition, identity, photographs, signatures
from collection.documents.words import title, words
from collection.snapshot import Collection
from schemas.vocabularies import vocabulary

# In the order a reader meets them: what it is, what endangers it and people, how it is, how to keep it, who signs.
BLOCKS: tuple[Callable[[Case], Iterator[Block]], ...] = (
    identity.identity,
    identity.occasion,
    care.dangers,
    care.falls_off,
    photographs.pictures,
    condition.overall,
    condition.damage,
    condition.watch,
    identity.not_examined,
    added_material.added,
    added_material.treatments,
    added_material.fragments,
    identity.parts,
    added_material.documents,
    care.limits,
    care.standing,
    care.packing,
    signatures.states,
    signatures.sign,
    signatures.code,
    signatures.entries,
)


def loan_report(public: Collection, object_id: str, state: str, made_on: date, loan_id: str | None = None) -> Document:
    """The report of one object; `public` holds its public records only (see `collection.documents.public`)."""
    case = Case(public, object_id, state, made_on, loan_id)
    name = case.object_row["title"]
    return Document(
        number=object_id,
        title=f"{title('report')}: {object_id}" + (f", {name}" if name else ""),
        state=vocabulary("loan_state").term[state].label,
        made_on=made_on,
        blocks=tuple(block for make in BLOCKS for block in make(case) if block.rows),
        rules_version=words()["version"],
        language=words()["language"],
    )
