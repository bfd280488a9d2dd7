"""Lists on paper: the cover of a loan, and the walk through the storeroom with a box to tick."""

from collections.abc import Callable, Mapping, Sequence
from datetime import date

import polars as pl
from natsort import natsorted

from collection.documents.cells import always, day_words, joined, paragraphs
from collection.documents.disclosed import Disclosed, disclosed
from collection.documents.document import Block, Document
from collection.documents.public import publication
from collection.documents.sections.closing import code_block
from collection.documents.words import columns, say, text, title, words
from collection.questions.travel import sentence, travel
from collection.questions.triage import Triage

COVER = ("object", "title", "crate", "travels")
MOST_WORDS = 8  # of what is wrong, on a walk
WALK = ("tick", "object", "heed", "title", "wrong", "step")


def cover_list(triage: Triage, loan_id: str) -> Document:
    """The objects of one loan with crate and verdict; no value, no place, no name of staff."""
    lent = triage.collection["loan_object"].filter(pl.col("loan_id") == loan_id)
    numbers = natsorted(lent["object_id"].unique().to_list())
    also = disclosed(triage, numbers, loan_id)
    crates = dict(lent.select("object_id", "crate_no").iter_rows())
    rows = tuple(_cover_row(triage, number, crates.get(number), also[number]) for number in numbers)
    loan = triage.collection["loan"].filter(pl.col("loan_id") == loan_id).row(0, named=True)
    head = always(
        ("borrower", loan["borrower"]),
        ("purpose", loan["purpose"]),
        ("venues", _venues(triage, loan_id)),
        ("lender_number", loan["lender_contact"]),
        ("borrower_number", loan["borrower_contact"] or loan["emergency_contact"]),
    )
    blocks = (
        Block("facts", "", head),
        Block("text", "", paragraphs([sentence(travel(triage, numbers, loan_id))])),
        Block("table", "", rows, columns(*COVER)),
    )
    return document(loan_id, f"{title('cover_list')} {loan_id}", triage.as_of, blocks)


def walk_list(rows: pl.DataFrame, coverage: str, made_on: date) -> Document:
    """One table a shelf, a box to tick an object, for the house only; `rows`: schema WALK of `questions.walk`."""
    blocks = [Block("text", "", paragraphs([coverage, text("house_only")]))]
    for shelf in rows.partition_by("place", maintain_order=True):
        lines = tuple(map(_walk_row, shelf.iter_rows(named=True)))
        blocks.append(Block("table", shelf["place"][0], lines, columns(*WALK)))
    return document("", title("walk"), made_on, blocks)


def document(number: str, heading: str, made_on: date, blocks: Sequence[Block]) -> Document:
    """A document that is no stage of a loan, its code last; blocks without rows are left out."""
    filled = (*(block for block in blocks if block.rows), code_block())
    return Document(number, heading, "", made_on, filled, words()["version"], words()["language"])


def _cover_row(triage: Triage, number: str, crate: str | None, also: Disclosed) -> Mapping[str, str]:
    shown, _ = publication(triage.collection, number, also)
    names: Callable[[str], str | None] = shown["object"].row(0, named=True).get
    return {
        "object": number,
        "title": names("title") or say("not_said"),
        "crate": crate or say("not_said"),
        "travels": also.verdict_words,
    }


def _venues(triage: Triage, loan_id: str) -> str:
    legs = triage.collection["loan_leg"].filter(pl.col("loan_id") == loan_id).sort("leg")
    return joined(
        *(
            say("venue", venue=leg["venue"] or say("not_said"),
                dates=say("dates", first=day_words(leg["starts_on"]) or "…", last=day_words(leg["ends_on"]) or "…"))
            for leg in legs.iter_rows(named=True)
        ), by="; ",
    )  # fmt: skip


def _walk_row(row: Mapping[str, str | None]) -> Mapping[str, str]:
    return {
        "object": row["object_id"] or "",
        "title": (row["title"] or "").split(",")[0],
        "wrong": few_words(row["wrong"] or ""),
        "step": row["step"] or "",
        "heed": row["heed"] or "",
    }


def few_words(text: str) -> str:
    """No more than is read on the way."""
    spoken = text.split()
    return " ".join(spoken[:MOST_WORDS]) + (" \N{HORIZONTAL ELLIPSIS}" if len(spoken) > MOST_WORDS else "")
