"""Reports of many objects, each a file or all papers of a loan in one; one that fails is said and stops no other."""

import re
import tempfile
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from io import BytesIO
from pathlib import Path
from zipfile import ZIP_DEFLATED, ZipFile

import polars as pl
from natsort import natsorted

from collection.documents.attachment import is_report
from collection.documents.disclosed import Disclosed, disclosed
from collection.documents.fonts import FontSet
from collection.documents.lists import cover_list
from collection.documents.loan_report import FORMS
from collection.documents.public import publication
from collection.documents.sections.photographs import load, with_photographs
from collection.documents.typeset import typeset
from collection.files import digest_of_bytes, require_free, write_whole
from collection.questions.triage import Triage
from schemas.errors import NotFound, RegisterError

UNSAFE = re.compile(r"[^A-Za-z0-9.\-]+")
LONGEST_STEM = 80
Progress = Callable[[int, int, str], None]  # papers that are finished, papers in all, what comes next
MISSING = "not_made.txt"


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


@dataclass(frozen=True)
class Bundle:
    """A ZIP file, how many papers are in it, and a sentence for each that could not be made."""

    data: bytes
    papers: int
    failures: Sequence[str]


def bundle(triage: Triage, loan_id: str, request: ReportRequest, progress: Progress) -> Bundle:
    """Cover list and reports of a loan; `out` of the request is not used. `progress` is called before each paper."""
    lent = triage.collection["loan_object"].filter(pl.col("loan_id") == loan_id)
    numbers = natsorted(lent["object_id"].unique().to_list())
    with tempfile.TemporaryDirectory(prefix="enamel-loan-") as work:
        asked = replace(request, out=Path(work), loan_id=loan_id)
        failures = list(_written(triage, numbers, asked, progress))
        return _zipped(Path(work), failures)


def cover_name(triage: Triage, loan_id: str) -> str:
    """The file name of a cover list."""
    return f"cover_{safe_stem(loan_id)}_{triage.as_of}.pdf"


def _written(triage: Triage, numbers: Sequence[str], asked: ReportRequest, progress: Progress) -> list[str]:
    """Write every paper into the folder; the sentences of those that could not be."""
    total, failures, loan_id = len(numbers) + 1, [], asked.loan_id or ""
    progress(0, total, loan_id)
    try:
        (asked.out / cover_name(triage, loan_id)).write_bytes(typeset(cover_list(triage, loan_id), None, asked.fonts))
    except RegisterError as error:
        failures.append(str(error))
    results = reports(triage, numbers, asked)
    for finished, number in enumerate(numbers, 1):
        progress(finished, total, number)
        result = next(results)
        failures += [str(result.error)] if result.error else []
    progress(total, total, "")
    return failures


def _zipped(folder: Path, failures: Sequence[str]) -> Bundle:
    out, files = BytesIO(), natsorted(folder.iterdir())
    with ZipFile(out, "w", ZIP_DEFLATED) as written:
        for path in files:
            written.write(path, path.name)
        if failures:
            written.writestr(MISSING, "\n".join(failures))
    return Bundle(out.getvalue(), len(files), failures)
