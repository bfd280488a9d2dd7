"""All papers of one loan in one file: its cover list, and a report of every object; one that fails stops no other."""

import tempfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from io import BytesIO
from pathlib import Path
from zipfile import ZIP_DEFLATED, ZipFile

import polars as pl
from natsort import natsorted

from collection.documents.batch import ReportRequest, reports, safe_stem
from collection.documents.lists import cover_list
from collection.documents.typeset import typeset
from collection.questions.triage import Triage
from schemas.errors import RegisterError

Progress = Callable[[int, int, str], None]  # papers that are finished, papers in all, what comes next
MISSING = "not_made.txt"


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
