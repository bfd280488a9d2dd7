"""`enamels report`: the condition report that leaves the house, of one object or a list."""

from collections.abc import Iterator, Sequence
from pathlib import Path

import click

from collection.commands.options import as_of_option, json_option, store_option
from collection.commands.output import Answer, emit
from collection.documents.batch import ReportRequest, ReportResult, reports
from collection.documents.sections.photographs import FOLDER
from collection.settings import as_of_day
from collection.store import Store
from schemas.errors import SourceRefused, WrongUsage
from schemas.vocabularies import vocabulary


@click.command(epilog="Examples: enamels report V.1912.45; enamels report --from-file crate_list.txt --out reports")
@click.argument("object_ids", metavar="[OBJECT]...", nargs=-1)
@click.option("--out", type=click.Path(path_type=Path, file_okay=False), default=Path("reports"), show_default=True,
              help="Folder the PDFs go to.")  # fmt: skip
@click.option("--state", help="State the report tells of (default: the first, before packing).")
@click.option("--all", "everything", is_flag=True, help="A report of each object.")
@click.option(
    "--from-file", type=click.Path(path_type=Path, dir_okay=False, exists=True), help="Object numbers, one a line."
)
@click.option("--photographs", type=click.Path(path_type=Path, file_okay=False),
              help="Folder of photographs by content hash (default: beside the store).")  # fmt: skip
@as_of_option
@store_option
@json_option
def report(
    object_ids: tuple[str, ...],
    out: Path,
    state: str | None,
    everything: bool,
    from_file: Path | None,
    photographs: Path | None,
    as_of: str | None,
    store_path: Path,
    as_json: bool,
) -> None:
    """Write condition reports: PDFs with the same content attached as data, and a code that `enamels verify` checks."""
    collection = Store(store_path).read()
    every = collection["object"]["object_id"].sort().to_list()
    wanted = list(dict.fromkeys([*object_ids, *_listed(from_file), *(every if everything else [])]))
    if not wanted:
        raise WrongUsage("enamels report", "no object was named", "object numbers, --from-file or --all", "Name one.")
    _make_folder(out)
    pictures = photographs or store_path.parent / FOLDER
    results = _with_progress(
        reports(collection, wanted, ReportRequest(_state(state), as_of_day(as_of, collection), out, pictures)),
        len(wanted),
    )
    emit(_answer(results), as_json=as_json)


def _state(name: str | None) -> str:
    known = list(vocabulary("loan_state").term)
    if name is not None and name not in known:
        raise WrongUsage("--state", f"'{name}' is no state of a report", ", ".join(known), "Choose one of them.")
    return name or known[0]


def _listed(path: Path | None) -> list[str]:
    if path is None:
        return []
    try:
        lines = path.read_text("utf-8-sig").splitlines()
    except (OSError, UnicodeDecodeError) as error:
        raise SourceRefused(str(path), f"cannot be read ({error})", "object numbers, one a line", "") from None
    return [line.strip() for line in lines if line.strip()]


def _make_folder(out: Path) -> None:
    try:
        out.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise SourceRefused(
            str(out), f"no folder can be made there ({error.strerror})", "", "Choose another."
        ) from None


def _with_progress(outcomes: Iterator[ReportResult], total: int) -> list[ReportResult]:
    """Outcomes, with how far it is on standard error once there are several."""
    results: list[ReportResult] = []
    for done, one in enumerate(outcomes, 1):
        results.append(one)
        if total > 1:
            click.echo(f"{done} of {total}: {one.error or one.path}", err=True)
    return results


def _answer(results: Sequence[ReportResult]) -> Answer:
    written, failed = [m for m in results if m.error is None], [m for m in results if m.error is not None]
    document = {
        "reports": [{"object_id": m.object_id, "path": m.path, "sha256": m.code} for m in written],
        "failures": [{"object_id": m.object_id, **m.error.as_dict()} for m in failed if m.error],
    }
    count = f"{len(written)} report{'' if len(written) == 1 else 's'} written"
    lines = [f"{count}, {len(failed)} not:" if failed else f"{count}."]
    lines += [f"  {m.error}" for m in failed]
    lines += [f"  {m.path}  {m.code[:12]}" for m in written[:20]]
    return Answer("\n".join(lines), document, max((m.error.code for m in failed if m.error), default=0))
