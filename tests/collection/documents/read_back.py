"""What a paper says, block by block."""

from collection.documents.words import words


def block(document, name, kind=None):
    title = words()["title"][name]
    return next(b for b in document.blocks if b.title == title and kind in (None, b.kind))


def facts(document, name):
    return {row["key"]: row["text"] for row in block(document, name).rows}


def printed(document):
    return "\n".join(document.lines())
