"""`enamels demo`: the invented collection, built, ranked, and answered."""

import sys
from pathlib import Path

import click
import polars as pl

from collection import pipeline
from collection.commands import dashboard as dashboard_command
from collection.commands.output import Answer, emit, json_option, opened, resolve_as_of
from collection.commands.triage import SHOWN
from collection.documents.batch import ReportRequest, ReportResult, reports
from collection.documents.sections.photographs import FOLDER as FOLDER_OF_PHOTOGRAPHS
from collection.intake import pipeline as way_in
from collection.questions.triage import Triage
from collection.questions.words import coverage_sentence, need_sentence, object_line
from collection.snapshot import Collection
from collection.store import Store
from demo_collection import manifest
from schemas.errors import WrongUsage
from schemas.vocabularies import vocabulary

FOLDER, STORE, REPORTS = "enamels-demo", "enamels.duckdb", "reports"
BY = "the demonstration"


@click.command(epilog="Example: enamels demo --no-open")
@click.option(
    "--folder",
    type=click.Path(path_type=Path, file_okay=False),
    default=FOLDER,
    show_default=True,
    help="Where to build it.",
)
@click.option("--no-open", is_flag=True, help="Build and answer only; open nothing.")
@click.option("--port", type=click.IntRange(1, 65_535), default=dashboard_command.PORT, show_default=True)
@json_option
def demo(folder: Path, no_open: bool, port: int, as_json: bool) -> None:
    """Build the demonstration collection (invented), rank it, say what needs attention, and open the pages.

    The pages open where a person sits at a terminal; elsewhere the answer is the end.
    """
    store = opened(folder / STORE)
    kept = _kept(folder, store)
    if not _is_whole(kept):
        build(store)
    emit(_answer(store), as_json=as_json)
    if not (no_open or as_json) and sys.stdout.isatty():
        dashboard_command.start(port, store.path, browse=True)
    elif not as_json:
        click.echo(f"Open the pages with: enamels dashboard --store {store.path}")


def _kept(folder: Path, store: Store) -> Collection:
    """What the folder holds of the demonstration. A folder with anything else in it is never written into."""
    strangers = [p.name for p in folder.glob("*") if not p.name.startswith(STORE) and p.name != REPORTS]
    kept = way_in.kept_or_empty(store)
    invented = not kept["setting"].filter(pl.col("name") == "invented").is_empty()
    if strangers or (not invented and not kept["object"].is_empty()):
        what, expected = "there is something else in this folder", "an empty folder, or a demonstration"
        raise WrongUsage(str(folder), what, expected, "Name another one with --folder.")
    return kept


def _is_whole(kept: Collection) -> bool:
    """Every file was brought in: a demonstration whose making was broken off is made up to the end."""
    return {path.name for delivery in manifest.DELIVERIES for path in delivery.paths} <= set(
        kept["intake_file"]["name"]
    )


def build(store: Store) -> None:
    """Bring in the files of the demonstration, the same way as any museum's. Raises RegisterError."""
    for delivery in manifest.DELIVERIES:
        kept = way_in.kept_or_empty(store)
        opened_files = way_in.open_files(delivery.paths, kept, delivery.record)
        way_in.intake(store, opened_files, kept, by=BY)
    for name in manifest.CLIMATE_FILES:
        store.write_readings(manifest.climate_frames(name), name, manifest.climate_digest(name), by=BY)


def _report(found: Triage, folder: Path) -> ReportResult:
    """One condition report, of the first object that cannot wait."""
    first = found.in_order.filter(pl.col("attention").is_in(found.now))["object_id"].head(1).to_list()
    folder.mkdir(exist_ok=True)
    order = ReportRequest(
        list(vocabulary("loan_state").term)[0], found.as_of, folder, folder.parent / FOLDER_OF_PHOTOGRAPHS
    )
    return next(reports(found.collection, first, order))


def _answer(store: Store) -> Answer:
    found = pipeline.triage(store, lambda c: resolve_as_of(None, c))
    listed = found.listed(top=SHOWN)
    refused = found.collection["refused_row"].filter(pl.col("settled_by").is_null())
    lines = [
        f"{found.setting('museum')}: {found.setting('invented')}.",
        coverage_sentence(found.coverage),
        need_sentence(found),
        "",
    ]
    lines += [object_line(row, found.rates) for row in listed.iter_rows(named=True)]
    made = _report(found, store.path.parent / REPORTS)
    lines += [
        "",
        f"A condition report of {made.object_id}, as it would leave the house: {made.path}",
        f"{refused.height} rows of its files were not taken; each keeps its reason.",
        f"The store is {store.path}.",
    ]
    document = {
        "store": str(store.path),
        "as_of": found.as_of.isoformat(),
        "coverage": found.coverage,
        "attention": dict(found.by_class.iter_rows()),
        "refused": refused.height,
        "report": made.path,
    }
    return Answer("\n".join(lines), document)
