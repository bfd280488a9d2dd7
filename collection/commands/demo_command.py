"""`enamels demo`: the invented collection, built, ranked, and answered."""

from pathlib import Path

import click
import polars as pl

from collection import pipeline
from collection.commands.answer import Answer, give, json_option, opened, the_day
from collection.commands.triage_command import SHOWN
from collection.intake import path as way_in
from collection.questions.words import coverage_sentence, need_sentence, object_line
from collection.store import Store
from demo_collection import manifest
from schemas.errors import WrongUsage

FOLDER, STORE = "enamels-demo", "enamels.duckdb"
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
@json_option
def demo(folder: Path, no_open: bool, as_json: bool) -> None:
    """Build the demonstration collection (invented), rank it, and say what needs attention."""
    store = opened(folder / STORE)
    if not _is_demonstration(folder, store):
        _build(store)
    give(_answer(store), as_json=as_json)


def _is_demonstration(folder: Path, store: Store) -> bool:
    """A folder with anything else in it is never written into."""
    if not folder.exists() or not any(folder.iterdir()):
        return False
    settings = store.read()["setting"] if store.exists() else None
    if settings is None or settings.filter(pl.col("name") == "invented").is_empty():
        raise WrongUsage(
            str(folder),
            "there is something else in this folder",
            "an empty folder, or a demonstration",
            "Name another one with --folder.",
        )
    return True


def _build(store: Store) -> None:
    """The same way in as any museum's files."""
    for delivery in manifest.DELIVERIES:
        kept = way_in.kept_or_empty(store)
        opened_files = way_in.open_files(delivery.paths, kept, delivery.record)
        way_in.intake(store, opened_files, kept, by=BY)
    for name in manifest.CLIMATE_FILES:
        store.write_readings(manifest.climate_frames(name), name, manifest.climate_digest(name), by=BY)


def _answer(store: Store) -> Answer:
    found = pipeline.triage(store, lambda c: the_day(None, c))
    listed = found.listed(top=SHOWN)
    refused = found.collection["refused_row"].filter(pl.col("settled_by").is_null())
    lines = [
        f"{found.setting('museum')}: {found.setting('invented')}.",
        coverage_sentence(found.coverage),
        need_sentence(found),
        "",
    ]
    lines += [object_line(row, found.rates) for row in listed.iter_rows(named=True)]
    lines += [
        "",
        f"{refused.height} rows of its files were not taken; each keeps its reason.",
        f"The store is {store.path}.",
    ]
    document = {
        "store": str(store.path),
        "as_of": found.as_of.isoformat(),
        "coverage": found.coverage,
        "attention": dict(found.by_class.iter_rows()),
        "refused": refused.height,
    }
    return Answer("\n".join(lines), document)
