"""`enamels card`: what an object needs, on a page to hang at its place."""

from pathlib import Path

import click

from collection import pipeline
from collection.commands.documents_out import out_option, write_pdf, written
from collection.commands.object_numbers import numbers_asked
from collection.commands.options import as_of_option, json_option, store_option
from collection.commands.output import emit
from collection.documents.batch import safe_stem
from collection.documents.disclosed import disclosed
from collection.documents.loan_report import card as card_of
from collection.documents.public import publication
from collection.questions.words import count
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
