"""`enamels rates`: starting and learned years to the next loss, side by side, and choosing between them."""

import shutil
from datetime import date
from pathlib import Path

import click
import polars as pl
from rich.console import Console
from rich.table import Table

from collection.as_of import as_known
from collection.commands.options import as_of_option, json_option, store_option
from collection.commands.output import Answer, emit, visible
from collection.questions.learned_rates import CHOSEN, rate_rows, sentence
from collection.recording.rates import CHOICES, choose_by_command
from collection.risk.inspections import inspections
from collection.settings import as_of_day
from collection.store import Store

NARROWEST, WIDEST = 80, 170  # columns of a terminal [characters]


@click.command(
    epilog="Examples: enamels rates; enamels rates --choose damage/lifting/active learned --by Ida --why ..."
)
@click.option("--choose", nargs=2, metavar="ROW CHOICE", help=f"Go by {' or '.join(CHOICES)} for a row of the list.")
@click.option("--by", default="", envvar="ENAMELS_PERSON", help="Who chooses (or ENAMELS_PERSON).")
@click.option("--why", default="", help="Why.")
@as_of_option
@store_option
@json_option
def rates(
    choose: tuple[str, str] | None, by: str, why: str, as_of: str | None, store_path: Path, as_json: bool
) -> None:
    """Show what the museum's checks say of the rates, beside the starting values; with --choose, go by one of them."""
    store = Store(store_path)
    if choose:
        day = as_of_day(as_of, store.read())
        words = choose_by_command(store, day, *choose, by=by, why=why, today=date.today())
        emit(Answer(words, {"answer": words}), as_json=as_json)
        return
    whole = store.read()
    known = as_known(whole, as_of_day(as_of, whole))
    rows = rate_rows(known, inspections(known))
    document = {"as_of": known.day.isoformat(), "rates": rows}
    words = "\n".join([sentence(rows), *([] if as_json else ["", table(rows)])])
    emit(Answer(words, document if as_json else {}), as_json=as_json)


def table(rows: pl.DataFrame) -> str:
    """Rows as a table that fits the window."""
    width = min(max(shutil.get_terminal_size((WIDEST, 0)).columns, NARROWEST), WIDEST)
    console = Console(width=width, no_color=True, highlight=False, markup=False, emoji=False)
    grid = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), show_edge=False)
    for heading in ("What", "Row", "Years to the next loss: starting value", "learned from checks", "Losses",
                    "Years watched", "In use"):  # fmt: skip
        grid.add_column(heading, overflow="fold")
    for row in rows.iter_rows(named=True):
        years = f"{row['exposure_years']:,.0f}"
        grid.add_row(
            visible(row["what"]), visible(row["cell"]), row["starting"], row["learned"], str(row["events"]), years,
            CHOSEN[row["chosen"]],
        )  # fmt: skip
    with console.capture() as captured:
        console.print(grid)
    return "\n".join(line.rstrip() for line in captured.get().rstrip().splitlines())
