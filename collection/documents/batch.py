"""Reports of many objects: one that fails is said and does not stop the rest."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from collection.documents.attachment import is_report
from collection.documents.disclosed import Disclosed, disclosed
from collection.documents.fonts import FontSet
from collection.documents.loan_report import FORMS
from collection.documents.public import publication
from collection.documents.sections.photographs import load, with_photographs
from collection.documents.typeset import typeset
from collection.files import digest_of_bytes, require_free, write_whole
from collection.questions.triage import Triage
from schemas.errors import NotFound, RegisterError

UNSAFE = re.compile(r"[^A-Za-z0-9.\-]+")
LONGEST_STEM = 80


@dataclass(frozen=True)
class ReportResult:
    """One report that was written, or why it was not."""

    object_id: str
    path: Path | None = None
    code: str = ""
    verdict: str = ""
    error: RegisterError | None = None


@dataclass(frozen=True)
class ReportRequest:
    """What is asked for besides the objects."""

    state: str
    made_on: date
    out: Path
    photographs: Path
    fonts: FontSet | None = None
    loan_id: str | None = None
    replace: bool = False
    short: bool = False


def reports(triage: Triage, object_ids: Sequence[str], request: ReportRequest) -> Iterator[ReportResult]:
    """One outcome an object, in the order given, as soon as it is there; `triage` is of the day of the report."""
    also = disclosed(triage, object_ids, request.loan_id)
    for object_id in object_ids:
        path = request.out / file_name(object_id, request)
        try:
            yield _one(triage, also.get(object_id), object_id, request, path)
        except RegisterError as error:
            yield ReportResult(object_id, error=error)


def _one(triage: Triage, also: Disclosed | None, object_id: str, request: ReportRequest, path: Path) -> ReportResult:
    if also is None:
        raise NotFound(object_id, "the register has no object of this number", "", "Look it up in `enamels triage`.")
    shown, also = publication(triage.collection, object_id, also)
    write = FORMS[request.short]
    document = write(shown, object_id, request.state, request.made_on, request.loan_id, also)
    document, jpegs = with_photographs(document, load(document, request.photographs))
    pdf = typeset(document, jpegs, request.fonts)
    require_free(path, store=None, replace=request.replace and is_report)
    write_whole(path, pdf)
    return ReportResult(object_id, path, document.content_hash(), verdict=also.verdict)


def file_name(object_id: str, request: ReportRequest) -> str:
    """A file name that is safe on any system and never that of another number, in this run or a later one."""
    form = "_short" if request.short else ""
    return f"{safe_stem(object_id)}_{request.state}_{request.made_on}{form}.pdf"


def safe_stem(number: str) -> str:
    """A number as part of a file name; a mark where another number could look the same."""
    safe = UNSAFE.sub("_", number).strip("._")[:LONGEST_STEM]
    mark = "" if safe == number == number.upper() else f"-{digest_of(number)}"
    return f"{safe or 'object'}{mark}"


def digest_of(object_id: str) -> str:
    """Eight signs that tell numbers apart which look the same as file names."""
    return digest_of_bytes(object_id.encode())[:8]
