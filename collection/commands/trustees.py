"""`enamels trustees`: one page for trustees."""

from datetime import date
from pathlib import Path

import click

from collection import pipeline
from collection.commands.documents_out import out_option, write_pdf, written
from collection.commands.options import as_of_option, json_option, store_option
from collection.commands.output import emit
from collection.documents.year_page import trustees_page
from collection.learning.back_test import later_day
from collection.questions.triage import Triage
from collection.settings import as_of_day
from collection.store import Store


@click.command(epilog="Example: enamels trustees --as-of 2026-09-30")
@out_option
@as_of_option
@store_option
@json_option
def trustees(out: Path, replace: bool, as_of: str | None, store_path: Path, as_json: bool) -> None:
    """Write one page for trustees: three numbers, one picture, what changed in a year."""
    store = Store(store_path)
    now = pipeline.assess_store(store, lambda c: as_of_day(as_of, c))
    document = trustees_page(now, _year_before(store, now.as_of))
    path = write_pdf(document, out / f"trustees_{now.as_of}.pdf", replace=replace)
    emit(written(path, words="One page for trustees."), as_json=as_json)


def _year_before(store: Store, day: date) -> Triage | None:
    """The collection as it was known a year before; None where nobody had checked anything then."""
    then = pipeline.assess_store(store, lambda _: later_day(day, -1))
    return then if then.coverage()["checked"] else None
