"""Reports of many objects: one that fails is said and does not stop the rest."""

import os
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from collection.documents.fonts import FontSet
from collection.documents.loan_report import loan_report
from collection.documents.public import public
from collection.documents.sections import photographs as pictures
from collection.documents.typeset import typeset
from collection.snapshot import Collection
from schemas.errors import NotFound, RegisterError, SourceRefused

UNSAFE = re.compile(r"[^\w.\-]+")


@dataclass(frozen=True)
class ReportResult:
    """One report that was written, or why it was not."""

    object_id: str
    path: Path | None = None
    code: str = ""
    error: RegisterError | None = None


@dataclass(frozen=True)
class ReportRequest:
    """What is asked for besides the objects."""

    state: str
    made_on: date
    out: Path
    photographs: Path
    fonts: FontSet | None = None


def reports(collection: Collection, object_ids: Sequence[str], order: ReportRequest) -> Iterator[ReportResult]:
    """One outcome an object, in the order given, as soon as it is there."""
    taken: set[str] = set()
    for object_id in object_ids:
        path = order.out / _name(object_id, order, taken)
        try:
            yield _one(collection, object_id, order, path)
        except RegisterError as error:
            yield ReportResult(object_id, error=error)
        except OSError as error:
            yield ReportResult(object_id, error=_unwritten(path, error))


def _one(collection: Collection, object_id: str, order: ReportRequest, path: Path) -> ReportResult:
    if object_id not in collection["object"]["object_id"]:
        raise NotFound(object_id, "the register has no object of this number", "", "Look it up in `enamels triage`.")
    document = loan_report(public(collection, object_id), object_id, order.state, order.made_on)
    made = typeset(document, pictures.found(document, order.photographs), order.fonts)
    part = path.with_name(f".{path.name}.part")
    part.write_bytes(made)
    os.replace(part, path)
    return ReportResult(object_id, path, document.content_hash())


def _name(object_id: str, order: ReportRequest, taken: set[str]) -> str:
    """A file name of its own for each object, whatever signs its number holds."""
    stem = f"{UNSAFE.sub('_', object_id).strip('._') or 'object'}_{order.state}_{order.made_on}"
    name, n = f"{stem}.pdf", 1
    while name.casefold() in taken:
        n += 1
        name = f"{stem}_{n}.pdf"
    taken.add(name.casefold())
    return name


def _unwritten(path: Path, error: OSError) -> SourceRefused:
    return SourceRefused(str(path), f"could not be written ({error.strerror})", "", "Choose another folder with --out.")
