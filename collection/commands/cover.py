"""`enamels cover`: the cover list of a loan."""

from pathlib import Path

import click

from collection import pipeline
from collection.commands.documents_out import out_option, write_pdf, written
from collection.commands.options import as_of_option, json_option, store_option
from collection.commands.output import emit
from collection.commands.report import require_loan
from collection.documents.batch import cover_name
from collection.documents.lists import cover_list
from collection.settings import as_of_day
from collection.store import Store


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
