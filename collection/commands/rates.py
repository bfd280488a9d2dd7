"""`enamels rates` and `backtest`: the years to the next loss that the register goes by, and how good forecasts were."""

import shutil
from dataclasses import asdict
from datetime import date
from pathlib import Path

import click
import polars as pl
from rich.console import Console
from rich.table import Table

from collection.as_of import as_known
from collection.back_testing import back_test_store
from collection.commands.options import as_of_option, day_asked, json_option, store_option
from collection.commands.output import Answer, emit, visible
from collection.learning.back_test import BackTest, later_day
from collection.questions.back_test import (
    NOT_BY_CHANCE,
    calibration_groups,
    score_sentence,
    scores,
    storeroom_sentence,
    unmeasured_sentence,
)
from collection.questions.learned_rates import CHOSEN, NOT_OURS, rate_rows, sentence
from collection.recording.rates import CHOICES, choose_by_command
from collection.risk.inspections import inspections
from collection.settings import as_of_day
from collection.store import Store
from schemas.errors import WrongUsage

NARROWEST, WIDEST = 80, 170  # columns of a terminal [characters]
MOST_YEARS = 100


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


@click.command(epilog="Examples: enamels backtest; enamels backtest --from 2021-09-30 --years 3")
@click.option("--from", "stated", metavar="DATE", help="Day of the forecast (default: those years before today).")
@click.option("--years", type=click.IntRange(1, MOST_YEARS), default=5, help="Years tested from that day (default: 5).")
@store_option
@json_option
def backtest(stated: str | None, years: int, store_path: Path, as_json: bool) -> None:
    """Say what the register expected on a day, from what it knew then, and what its checks saw since."""
    store = Store(store_path)
    collection = store.read()
    today = as_of_day(None, collection)
    cut = day_asked("--from", stated) if stated else later_day(today, -years)
    if cut >= today:
        raise WrongUsage("--from", f"{stated} is not past", f"a day before {today}", "Choose an earlier day.")
    test = back_test_store(store, collection, cut, min(later_day(cut, years), today))
    emit(Answer("\n".join(sentences(test)), document(test) if as_json else {}), as_json=as_json)


def sentences(test: BackTest) -> list[str]:
    """What a person reads: expected beside found, then how good the forecasts were, then the cautions."""
    scored = [score_sentence(judged, by) for by, judged in test.judged.items()]
    lines = [storeroom_sentence(test), unmeasured_sentence(test), *scored, f"{NOT_OURS}.", NOT_BY_CHANCE]
    return [line for line in lines if line]


def document(test: BackTest) -> dict[str, object]:
    """The same for programs."""
    return {
        "from": test.cut.isoformat(),
        "until": test.until.isoformat(),
        "objects": test.objects,
        "seen_loss": test.seen_loss,
        "unmeasured": test.unmeasured,
        "expected": {by: asdict(judged.expected) for by, judged in test.judged.items()},
        "base_rate": test.base_rate,
        "scores": scores(test),
        "calibration": calibration_groups(test),
        "learned": test.learned,
        "cautions": [NOT_OURS, NOT_BY_CHANCE],
    }
