"""`enamels report`: the condition report that leaves the house, of one object or a list."""

import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import click
from natsort import natsorted

from collection import pipeline
from collection.commands.documents_out import out_option
from collection.commands.options import as_of_option, json_option, numbers_asked, store_option
from collection.commands.output import Answer, emit
from collection.documents.batch import ReportRequest, ReportResult, reports
from collection.documents.sections.photographs import FOLDER
from collection.files import output_errors
from collection.loans.rules import NOT_FIT
from collection.questions.words import count
from collection.settings import as_of_day
from collection.snapshot import Collection
from collection.store import Store
from schemas.errors import NotFound, WrongUsage
from schemas.vocabularies import vocabulary


@click.command(epilog="Examples: enamels report V.1912.45; enamels report --from-file crate_list.txt --out reports")
@click.argument("object_ids", metavar="[OBJECT]...", nargs=-1)
@out_option
@click.option("--stage", "state", help="Stage the report is of (default: the first, before packing).")
@click.option("--all", "everything", is_flag=True, help="A report of each object.")
@click.option("--from-file", type=click.Path(path_type=Path), help="File of object numbers, one a line.")
@click.option("--photographs", type=click.Path(path_type=Path, file_okay=False),
              help="Folder of photographs by content hash (default: beside the store).")  # fmt: skip
@click.option("--loan", "loan_id", help="Number of the loan it is for (default: the next one of the object).")
@click.option("--short", is_flag=True, help="The short form, two pages, for one object with a courier.")
@as_of_option
@store_option
@json_option
def report(store_path: Path, as_json: bool, **asked: object) -> None:
    """Write condition reports: PDFs with the same content attached as data, and a code that `enamels verify` checks."""
    wanted = Asked(**asked)  # type: ignore[arg-type]
    triage = pipeline.assess_store(Store(store_path), lambda c: as_of_day(wanted.as_of, c))
    collection = triage.collection
    every = natsorted(collection["object"]["object_id"].to_list()) if wanted.everything else []
    numbers = numbers_asked([*wanted.object_ids, *every], wanted.from_file, "report", " or --all")
    require_loan(collection, wanted.loan_id)
    with output_errors(wanted.out):
        wanted.out.mkdir(parents=True, exist_ok=True)
    request = ReportRequest(
        _state(wanted.state),
        triage.as_of,
        wanted.out,
        wanted.photographs or store_path.parent / FOLDER,
        loan_id=wanted.loan_id,
        replace=wanted.replace,
        short=wanted.short,
    )
    emit(_answer(_with_progress(reports(triage, numbers, request), len(numbers))), as_json=as_json)


@dataclass(frozen=True)
class Asked:
    """What was asked for at the command line."""

    object_ids: tuple[str, ...]
    out: Path
    state: str | None
    everything: bool
    from_file: Path | None
    photographs: Path | None
    loan_id: str | None
    replace: bool
    short: bool
    as_of: str | None


def require_loan(collection: Collection, loan_id: str | None) -> None:
    """Raise NotFound, naming the loans there are, for a number that is none."""
    if loan_id is not None and loan_id not in collection["loan"]["loan_id"]:
        known = ", ".join(natsorted(collection["loan"]["loan_id"].to_list()))
        raise NotFound("--loan", f"there is no loan '{loan_id}'", known, "Choose one of them.")


def _state(name: str | None) -> str:
    known = list(vocabulary("loan_state").term)
    if name is not None and name not in known:
        raise WrongUsage("--stage", f"'{name}' is no stage of a report", ", ".join(known), "Choose one of them.")
    return name or known[0]


def _with_progress(outcomes: Iterator[ReportResult], total: int) -> list[ReportResult]:
    """Outcomes, with how far it is on standard error once there are several."""
    if total == 1:
        return list(outcomes)
    with click.progressbar(outcomes, length=total, label="Reports", file=sys.stderr) as bar:
        return list(bar)


def _answer(results: Sequence[ReportResult]) -> Answer:
    written, failed = [m for m in results if m.error is None], [m for m in results if m.error is not None]
    document = {
        "reports": [
            {"object_id": m.object_id, "path": m.path, "sha256": m.code, "verdict": m.verdict} for m in written
        ],
        "failures": [{"object_id": m.object_id, **m.error.as_dict()} for m in failed if m.error],
    }
    done = f"{count(len(written), 'report')} written"
    lines = [f"{done}, {len(failed)} not:" if failed else f"{done}."]
    lines += [f"  {m.error}" for m in failed]
    lines += [f"  {m.path}  {m.code[:12]}" for m in written[:LISTED]]
    lines += _warning([m.object_id for m in written if m.verdict == NOT_FIT])
    return Answer("\n".join(lines), document, max((m.error.code for m in failed if m.error), default=0))


def _warning(unfit: Sequence[str]) -> list[str]:
    """Which of them are not to be packed as recorded; their reports are written all the same."""
    if not unfit:
        return []
    more = f" and {len(unfit) - LISTED} more" if len(unfit) > LISTED else ""
    return ["", f"NOT TO BE PACKED AS RECORDED: {', '.join(unfit[:LISTED])}{more}. `enamels travel` says why."]


LISTED = 20
