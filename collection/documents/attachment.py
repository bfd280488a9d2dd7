"""Reading a report back: the data attached to it, the code printed on its pages, and the words on them."""

import re
import unicodedata
import zlib
from bisect import bisect_left
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path

from pypdf import PdfReader
from pypdf.errors import PyPdfError

from collection.documents.document import Document, code_of, read_document
from schemas.errors import SourceRefused

NAME, BEGINS = "condition-report.json", b"%PDF-"
MOVED, MARKS, INVISIBLE = ("R", "AL"), ("Mn", "Mc", "Me"), "\u200b\u00ad"
SHORTEST_PIECE = 20
# What pypdf raises on files that are none, or that somebody broke on purpose.
UNREADABLE = (
    PyPdfError, ValueError, KeyError, IndexError, TypeError, AttributeError, AssertionError, NotImplementedError,
    ArithmeticError, RecursionError, zlib.error,
)  # fmt: skip
CODE = re.compile(r"(?:[0-9a-f]{8}\s+){7}[0-9a-f]{8}")


@dataclass(frozen=True)
class Attached:
    """A report read back: the document attached, its code, the code printed, the text of each page."""

    reader: PdfReader
    document: Document
    code: str
    printed: str
    texts: tuple[str, ...]


def read_attached(data: bytes, where: str) -> Attached:
    """Read a PDF back; raises SourceRefused where it is no report of ours."""
    reader, attached = _opened(data, where)
    try:
        texts = tuple(page.extract_text() for page in reader.pages)
    except UNREADABLE as error:
        raise unreadable(where, error) from None
    canonical = _canonical(attached, where)
    document = read_document(canonical)
    match = next(filter(None, map(CODE.search, reversed(texts))), None)
    printed = "".join(match[0].split()) if match else ""
    return Attached(reader, document, code_of(canonical), printed, texts)


def _opened(data: bytes, where: str) -> tuple[PdfReader, Mapping[str, list[bytes]]]:
    """A PDF and the files attached to it, by name."""
    try:
        reader = PdfReader(BytesIO(data))
        return reader, dict(reader.attachments)
    except UNREADABLE as error:
        raise unreadable(where, error) from None


def _canonical(attached: Mapping[str, list[bytes]], where: str) -> bytes:
    if NAME not in attached:
        raise _refused(where, "no data are attached to it")
    return attached[NAME][0]


def is_report(path: Path) -> bool:
    """A file is a report of ours, one that a later run may write over: its words are not read."""
    with path.open("rb") as handle:
        if handle.read(len(BEGINS)) != BEGINS:
            return False
    try:
        read_document(_canonical(_opened(path.read_bytes(), str(path))[1], str(path)))
    except SourceRefused:
        return False
    return True


def unsaid_lines(document: Document, texts: Sequence[str]) -> tuple[str, ...]:
    """Lines of the document that stand on no page."""
    printed = _squashed("".join(texts))
    return tuple(line for line in document.lines() if not _says(printed, line))


def _squashed(text: str) -> str:
    """Text without spaces and ligatures, which pages add and take away."""
    return "".join(c for c in unicodedata.normalize("NFKC", text) if not c.isspace() and c not in INVISIBLE)


def _says(printed: str, line: str) -> bool:
    """The line stands on the pages, whole or in pieces where a page ends inside it.

    Scripts whose letters change places on the page are not compared.
    """
    rest = _squashed(line)
    if any(unicodedata.bidirectional(c) in MOVED or unicodedata.category(c) in MARKS for c in rest):
        return True
    while rest:
        there = bisect_left(range(1, len(rest) + 1), True, key=lambda n: rest[:n] not in printed)
        if there < min(len(rest), SHORTEST_PIECE):
            return False
        rest = rest[there:]
    return True


def unreadable(where: str, error: BaseException) -> SourceRefused:
    """What is said of a file that somebody broke, or that never was a PDF."""
    return _refused(where, f"cannot be read as a PDF ({type(error).__name__})")


def _refused(where: str, what: str) -> SourceRefused:
    return SourceRefused(
        where, what, "a condition report made by `enamels report`", "Ask its maker for the file itself."
    )
