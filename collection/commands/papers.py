"""`enamels card`, `cover` and `walk`: papers of an object, of a loan and of the storeroom."""

from pathlib import Path
from typing import Any

import click

from collection import pipeline
from collection.commands.documents_out import out_option, write_pdf, write_workbook, written
from collection.commands.filter_options import filter_options, selection_of
from collection.commands.options import as_of_option, json_option, numbers_asked, store_option
from collection.commands.output import emit
from collection.commands.report import require_loan
from collection.documents.batch import cover_name, safe_stem
from collection.documents.disclosed import disclosed
from collection.documents.lists import cover_list, walk_list
from collection.documents.loan_report import card as card_of
from collection.documents.public import publication
from collection.documents.sheet import workbook
from collection.questions.selection import select
from collection.questions.triage import Triage
from collection.questions.walk import walk as walk_of
from collection.questions.words import count, coverage_sentence
from collection.settings import as_of_day
from collection.store import Store
from schemas.errors import NotFound


@click.command(epilog="Example: enamels card 1959.1")
@click.argument("object_ids", metavar="OBJECT...", nargs=-1)
@out_option
@as_of_option
@store_option
@json_option
def card(
    object_ids: tuple[str, ...], out: Path, replace: bool, as_of: str | None, store_path: Path, as_json: bool
) -> None:
    """Write a card for each object: dangers, how it is held and shown, the limits it needs."""
    triage = pipeline.assess_store(Store(store_path), lambda c: as_of_day(as_of, c))
    numbers = numbers_asked(object_ids, None, "card")
    also = disclosed(triage, numbers, None)
    missing = [number for number in numbers if number not in also]
    if missing:
        raise NotFound(missing[0], "the register has no object of this number", "", "Look it up in `enamels triage`.")
    paths = []
    for number in numbers:
        shown, given = publication(triage.collection, number, also[number])
        path = out / f"card_{safe_stem(number)}_{triage.as_of}.pdf"
        paths.append(write_pdf(card_of(shown, number, triage.as_of, given), path, replace=replace))
    emit(written(*paths, words=f"{count(len(paths), 'card')}."), as_json=as_json)


@click.command(epilog="Example: enamels cover 'LN 2026/2'")
@click.argument("loan_id", metavar="LOAN")
@out_option
@as_of_option
@store_option
@json_option
def cover(loan_id: str, out: Path, replace: bool, as_of: str | None, store_path: Path, as_json: bool) -> None:
    """Write the cover list of a loan: number, title, crate, and whether each object may travel."""
    triage = pipeline.assess_store(Store(store_path), lambda c: as_of_day(as_of, c))
    require_loan(triage.collection, loan_id)
    path = write_pdf(cover_list(triage, loan_id), out / cover_name(triage, loan_id), replace=replace)
    emit(written(path, words="Cover list."), as_json=as_json)


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
