"""Reading a report back: the attached data, the code printed on its pages, and whether they agree."""

import re
import unicodedata
from bisect import bisect_left
from collections.abc import Mapping
from dataclasses import dataclass
from io import BytesIO

from pypdf import PdfReader
from pypdf.errors import PyPdfError

from collection.documents.document import SHORT, Document, code_of, read_document
from schemas.errors import SourceRefused

NAME = "condition-report.json"
GROUP = 8
MOVED, MARKS, INVISIBLE = ("R", "AL"), ("Mn", "Mc", "Me"), "\u200b\u00ad"
SHORTEST_PIECE = 20
CODE = re.compile(r"(?:[0-9a-f]{8}\s+){7}[0-9a-f]{8}")


@dataclass(frozen=True)
class Reading:
    """What a file holds: the document attached, its code recomputed, the codes printed."""

    document: Document
    recomputed: str
    printed: str
    pages_without: tuple[int, ...]
    unsaid: tuple[str, ...]

    @property
    def agrees(self) -> bool:
        """Every page carries the code of the data attached, and prints what the data say."""
        return self.recomputed == self.printed and not self.pages_without and not self.unsaid


def in_groups(code: str) -> str:
    """A code as printed, in groups of eight."""
    return " ".join(code[i : i + GROUP] for i in range(0, len(code), GROUP))


def read_report(data: bytes, where: str) -> Reading:
    """Read a PDF back; raises SourceRefused where it is no report of ours."""
    try:
        reader = PdfReader(BytesIO(data))
        attached: Mapping[str, list[bytes]] = dict(reader.attachments)
        pages = [page.extract_text() for page in reader.pages]
    except (PyPdfError, ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
        raise _refused(where, f"cannot be read as a PDF ({type(error).__name__})") from None
    if NAME not in attached:
        raise _refused(where, "no data are attached to it")
    return _reading(attached[NAME][0], pages)


def _reading(attached: bytes, pages: list[str]) -> Reading:
    document = read_document(attached)
    code = code_of(attached)
    found = next(filter(None, map(CODE.search, reversed(pages))), None)
    printed = "".join(found[0].split()) if found else ""
    without = tuple(n for n, page in enumerate(pages, 1) if code[:SHORT] not in page)
    said = _squashed("".join(pages))
    return Reading(document, code, printed, without, tuple(line for line in document.lines() if not _says(said, line)))


def _squashed(text: str) -> str:
    """Text without spaces and ligatures, which pages add and take away."""
    return "".join(c for c in unicodedata.normalize("NFKC", text) if not c.isspace() and c not in INVISIBLE)


def _says(said: str, line: str) -> bool:
    """The line stands on the pages, whole or in pieces where a page ends inside it.

    Scripts whose letters change places on the page are not compared.
    """
    rest = _squashed(line)
    if any(unicodedata.bidirectional(c) in MOVED or unicodedata.category(c) in MARKS for c in rest):
        return True
    while rest:
        there = bisect_left(range(1, len(rest) + 1), True, key=lambda n: rest[:n] not in said)
        if there < min(len(rest), SHORTEST_PIECE):
            return False
        rest = rest[there:]
    return True


def _refused(where: str, what: str) -> SourceRefused:
    return SourceRefused(
        where, what, "a condition report made by `enamels report`", "Ask its maker for the file itself."
    )
