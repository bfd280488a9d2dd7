"""`enamels travel`: may these objects travel as recorded, why not, and what would make them fit in time."""

import shutil
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import click
import polars as pl
from natsort import natsorted
from rich.console import Console
from rich.table import Table

from collection import pipeline
from collection.commands.options import as_of_option, json_option, numbers_asked, store_option
from collection.commands.output import Answer, emit, visible
from collection.commands.report import require_loan
from collection.commands.triage import NARROWEST, WIDEST
from collection.questions.travel import because_words, effort_words, sentence
from collection.questions.travel import travel as travel_of
from collection.questions.triage import Triage
from collection.settings import as_of_day
from collection.store import Store
from schemas.errors import NotFound


@click.command(epilog="Examples: enamels travel 1991.3 1971.2; enamels travel --loan 'LN 2026/2'")
@click.argument("object_ids", metavar="[OBJECT]...", nargs=-1)
@click.option("--loan", "loan_id", help="Number of the loan: its objects, and judged for it.")
@click.option("--from-file", type=click.Path(path_type=Path), help="File of object numbers, one a line.")
@as_of_option
@store_option
@json_option
def travel(
    object_ids: tuple[str, ...], loan_id: str | None, from_file: Path | None, as_of: str | None, store_path: Path,
    as_json: bool,
) -> None:  # fmt: skip
    """May these objects travel as recorded? Reasons, what would make them fit, and the time there is."""
    triage = pipeline.assess_store(Store(store_path), lambda c: as_of_day(as_of, c))
    require_loan(triage.collection, loan_id)
    lent = of_loan(triage, loan_id or "")
    numbers = numbers_asked(
        [*object_ids, *([] if object_ids or from_file else lent)], from_file, "travel", " or --loan"
    )
    rows = travel_of(triage, numbers, loan_id)
    missing = [number for number in numbers if number not in rows["object_id"]]
    emit(_answer(triage, rows, missing), as_json=as_json)


def of_loan(triage: Triage, loan_id: str) -> Sequence[str]:
    """Objects of a loan, in the order a person reads numbers."""
    rows = triage.collection["loan_object"].filter(pl.col("loan_id") == loan_id)
    return natsorted(rows["object_id"].unique().to_list())


def _answer(triage: Triage, rows: pl.DataFrame, missing: Sequence[str]) -> Answer:
    lines = [*triage.warnings, *([sentence(rows), "", grid(rows)] if rows.height else [])]
    errors = [NotFound(number, "the register has no object of this number", "", "Look it up.") for number in missing]
    lines += [str(error) for error in errors]
    document = {
        "as_of": triage.as_of.isoformat(),
        "objects": rows,
        "failures": [{"object_id": e.where, **e.as_dict()} for e in errors],
    }
    return Answer("\n".join(lines), document, max((error.code for error in errors), default=0))


def grid(rows: pl.DataFrame) -> str:
    """One row an object: verdict, reasons, what would make it fit and what that takes."""
    width = min(max(shutil.get_terminal_size((WIDEST, 0)).columns, NARROWEST), WIDEST)
    console = Console(width=width, no_color=True, highlight=False, markup=False, emoji=False)
    table = Table(box=None, pad_edge=False, padding=(0, 2, 1, 0), show_edge=False)
    for heading, ratio in (("Number", 3), ("May it travel?", 4), ("Because", 9), ("It would be fit when", 9)):
        table.add_column(heading, ratio=ratio, overflow="fold")
    for row in rows.iter_rows(named=True):
        table.add_row(*(visible(cell) for cell in _cells(row)))
    with console.capture() as captured:
        console.print(table)
    return "\n".join(line.rstrip() for line in captured.get().rstrip().splitlines())


def _cells(row: Mapping[str, Any]) -> tuple[str, str, str, str]:
    takes = [*row["fit_when"], *filter(None, (effort_words(row), row["time"]))]
    return row["object_id"], row["verdict_words"], because_words(row), "; ".join(takes)
