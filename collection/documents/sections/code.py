"""Where the content code is printed; the code itself cannot stand in what it is made from."""

from collections.abc import Iterator

from collection.documents.case import Case
from collection.documents.document import Block
from collection.documents.words import label, title


def code_block() -> Block:
    """The block that the template sets the code into: the last of every document."""
    return Block("code", title("code"), ({"label": label("code")},))


def code(_: Case) -> Iterator[Block]:
    """The same as a section of a report."""
    yield code_block()
