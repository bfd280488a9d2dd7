"""`enamels walk`: a list to carry through the storeroom, shelf by shelf, as PDF and as a workbook."""

from pathlib import Path
from typing import Any

import click

from collection import pipeline
from collection.commands.documents_out import out_option, write_pdf, write_workbook, written
from collection.commands.filter_options import filter_options, selection_of
from collection.commands.options import as_of_option, json_option, store_option
from collection.commands.output import emit
from collection.documents.lists import walk_list
from collection.documents.sheet import workbook
from collection.questions.selection import select
from collection.questions.triage import Triage
from collection.questions.walk import walk as walk_of
from collection.questions.words import count, coverage_sentence
from collection.settings import as_of_day
from collection.store import Store


@click.command(epilog="Examples: enamels walk; enamels walk --location E1 --all")
@click.option("--all", "everything", is_flag=True, help="Every object asked for, not only those that cannot wait.")
@filter_options
@out_option
@as_of_option
@store_option
@json_option
def walk(
    everything: bool, out: Path, replace: bool, as_of: str | None, store_path: Path, as_json: bool, **typed: Any
) -> None:
    """Write a list to carry: by shelf, a box to tick, what is wrong, the first step, dangers, what leaves."""
    triage = pipeline.assess_store(Store(store_path), lambda c: as_of_day(as_of, c))
    rows = walk_of(triage, select(triage, selection_of(triage, typed)).pipe(_urgent, triage, everything))
    stem = f"walk_{triage.as_of}"
    words = f"{count(rows.height, 'object')} in {count(rows['place'].n_unique(), 'place')}; for use in the house."
    if rows.is_empty():
        emit(written(words="Nothing asked for needs attention now; --all lists the rest."), as_json=as_json)
        return
    document = walk_list(rows, coverage_sentence(triage.coverage()), triage.as_of)
    paths = (
        write_pdf(document, out / f"{stem}.pdf", replace=replace),
        write_workbook(workbook(rows), out / f"{stem}.xlsx", replace=replace),
    )
    emit(written(*paths, words=words), as_json=as_json)


def _urgent(rows: Any, triage: Triage, everything: bool) -> Any:
    return rows if everything else rows.filter(rows["attention"].is_in(list(triage.now)))
