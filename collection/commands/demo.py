"""`enamels demo`: the invented collection, built, ranked, and answered."""

import sys
from pathlib import Path

import click
import polars as pl

from collection import pipeline
from collection.commands import dashboard as dashboard_command
from collection.commands.options import json_option
from collection.commands.output import Answer, emit
from collection.commands.triage import SHOWN, table
from collection.documents.batch import ReportRequest, ReportResult, reports
from collection.documents.sections.photographs import FOLDER as FOLDER_OF_PHOTOGRAPHS
from collection.intake import pipeline as way_in
from collection.questions.triage import Triage
from collection.questions.words import count, coverage_sentence, need_sentence
from collection.settings import Settings, as_of_day
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
    store = Store(folder / STORE)
    _require_demonstration(folder, store)
    build(store)
    emit(_answer(store), as_json=as_json)
    if not (no_open or as_json) and sys.stdout.isatty():
        dashboard_command.start(port, store.path, browse=True)
    elif not as_json:
        click.echo(f"Open the pages with: enamels dashboard --store {store.path}")


def _require_demonstration(folder: Path, store: Store) -> None:
    """Raise WrongUsage for a folder with anything else in it: it is never written into."""
    strangers = [p for p in folder.glob("*") if not p.name.startswith(STORE) and p.name != REPORTS and not _copies(p)]
    existing = way_in.held_or_empty(store)
    invented = Settings.of(existing).invented
    if strangers or (not invented and not existing["object"].is_empty()):
        what, expected = "there is something else in this folder", "an empty folder, or a demonstration"
        raise WrongUsage(str(folder), what, expected, "Name another one with --folder.")


def _copies(path: Path) -> bool:
    """A folder of copies of the store, as `enamels backup` makes them."""
    return path.is_dir() and all(p.suffix == Path(STORE).suffix for p in path.iterdir())


def build(store: Store) -> None:
    """Bring in the files of the demonstration that are not there yet, the same way as any museum's.

    One whose making was broken off is made up to the end. Raises RegisterError.
    """
    there = set(way_in.remembered_in(store)["intake_file"]["name"])
    for delivery in manifest.DELIVERIES:
        if not {path.name for path in delivery.paths} <= there:
            existing = way_in.held_or_empty(store)
            opened_files = way_in.open_files(delivery.paths, existing, delivery.record)
            way_in.intake(store, opened_files, existing, by=BY)
    read_in = store.read_journal(record="climate_reading")["row_key"]
    for name in manifest.CLIMATE_FILES:
        if not read_in.str.contains(manifest.climate_digest(name), literal=True).any():
            store.write_readings(manifest.climate_frames(name), name, manifest.climate_digest(name), by=BY)


def _report(triage: Triage, folder: Path) -> ReportResult:
    """One condition report, of the first object that cannot wait."""
    first = triage.objects.filter(pl.col("attention").is_in(triage.now))["object_id"].head(1).to_list()
    folder.mkdir(exist_ok=True)
    order = ReportRequest(
        list(vocabulary("loan_state").term)[0],
        triage.as_of,
        folder,
        folder.parent / FOLDER_OF_PHOTOGRAPHS,
        replace=True,
    )
    return next(reports(triage, first, order))


def _answer(store: Store) -> Answer:
    triage = pipeline.assess_store(store, lambda c: as_of_day(None, c))
    refused = triage.collection["refused_row"].filter(pl.col("settled_by").is_null())
    report = _report(triage, store.path.parent / REPORTS)
    lines = [
        f"{triage.settings.museum}: {triage.settings.invented}.",
        coverage_sentence(triage.coverage()),
        need_sentence(triage),
        "",
        table(triage, triage.objects, SHOWN),
        "",
        f"A condition report of {report.object_id}, as it would leave the house: {report.path}",
        f"{count(refused.height, 'row')} of its files were not taken in; each keeps its reason.",
        f"The store is {store.path}.",
    ]
    document = {
        "store": str(store.path),
        "as_of": triage.as_of.isoformat(),
        "coverage": triage.coverage(),
        "attention": dict(triage.by_class.iter_rows()),
        "refused": refused.height,
        "report": report.path,
    }
    return Answer("\n".join(lines), document)
