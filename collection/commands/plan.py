"""`enamels plan`: which treatments in which years with the money and hours there are, and what that prevents."""

import shutil
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import click
import polars as pl
from rich.console import Console
from rich.table import Table

from collection import pipeline
from collection.commands.options import as_of_option, json_option, store_option
from collection.commands.output import Answer, emit, visible
from collection.commands.plan_files import plan_out_option, write_plan
from collection.commands.triage import NARROWEST, WIDEST
from collection.plan.musts import MustsNotMet
from collection.plan.plan import Plan, make_plan
from collection.planning.situation import Question, situation_of
from collection.questions.plan_sentences import together_sentence
from collection.questions.triage import Triage
from collection.questions.words import two_figures
from collection.questions.year_plan import (
    left_undone,
    not_met_sentence,
    rules_sentence,
    schedule,
    sentence,
    use_of_limits,
)
from collection.settings import as_of_day
from collection.store import Store
from schemas.errors import NotFound, WrongUsage
from schemas.vocabularies import vocabulary


@click.command(epilog="Example: enamels plan --years 1 --money 2027=4000 --hours 2027:enamel_conservator=60")
@click.option("--years", type=click.IntRange(1, 10), help="Years it plans (default: 3).")
@click.option("--from", "first_year", type=click.IntRange(1900, 2200), help="First year (default: the next).")
@click.option("--horizon", type=click.FloatRange(1, 100), help="Years over which loss is counted (default: 10).")
@click.option("--money", "money", multiple=True, metavar="YEAR=AMOUNT", help="Money of a year, in place of its funds.")
@click.option("--hours", "hours", multiple=True, metavar="YEAR:SKILL=HOURS", help="Hours of a skill in a year.")
@plan_out_option
@as_of_option
@store_option
@json_option
def plan(
    years: int | None, first_year: int | None, horizon: float | None, money: tuple[str, ...], hours: tuple[str, ...],
    outputs: tuple[Path, ...], replace: bool, as_of: str | None, store_path: Path, as_json: bool,
) -> None:  # fmt: skip
    """Plan treatments: objects, years, money and hours; what it prevents, and how far from the best that is."""
    triage = pipeline.assess_store(Store(store_path), lambda c: as_of_day(as_of, c))
    asked = Question(first_year, years, horizon, dict(map(_money, money)), dict(map(_hours, hours)))
    planned = make_plan(situation_of(triage, asked))
    if isinstance(planned, MustsNotMet):
        words = f"{not_met_sentence(planned)} {together_sentence(planned)}".strip().removesuffix(".")
        raise WrongUsage("plan", words, "", "Give more, or move a day.")
    write_plan(triage, planned, outputs, replace=replace)
    emit(_answer(triage, planned, outputs), as_json=as_json)


def _money(text: str) -> tuple[int, float]:
    year, _, amount = text.partition("=")
    return int(_number(year, "--money", text)), _number(amount, "--money", text)


def _hours(text: str) -> tuple[tuple[int, str], float]:
    where, _, amount = text.partition("=")
    year, _, skill = where.partition(":")
    known = (*vocabulary("skill").term, "bench_days")
    if skill not in known:
        raise NotFound("--hours", f"there is no skill '{skill}'", ", ".join(known), "Choose one of them.")
    return (int(_number(year, "--hours", text)), skill), _number(amount, "--hours", text)


def _number(text: str, option: str, whole: str) -> float:
    try:
        number = float(text)
    except ValueError:
        number = -1.0
    if not 0 <= number < float("inf"):
        expected = "YEAR=AMOUNT" if option == "--money" else "YEAR:SKILL=HOURS"
        raise WrongUsage(option, f"'{whole}' cannot be read", expected, "Write it so.")
    return number


def _answer(triage: Triage, planned: Plan, outputs: Sequence[Path]) -> Answer:
    rows, undone, use = schedule(triage, planned), left_undone(triage, planned), use_of_limits(planned)
    lines = [*triage.warnings, sentence(planned), rules_sentence(planned), ""]
    for year in rows["year"].unique().sort():
        mine = pl.col("year") == year
        lines += [str(year), grid(planned, rows.filter(mine)), *_use(use.filter(mine)), ""]
    why = undone["why"].value_counts(sort=True).iter_rows()
    lines += ["Left undone:", *(f"  {n}: {reason}" for reason, n in why)] if undone.height else []
    lines += ["", "Written:", *(f"  {path}" for path in outputs)] if outputs else []
    files = {"files": [str(path) for path in outputs]} if outputs else {}
    return Answer("\n".join(lines), _document(planned, rows, undone) | files)


def _use(use: pl.DataFrame) -> Sequence[str]:
    return [
        f"  {row['what']}: {row['used']:,.0f} of {row['limit']:,.0f}"
        for row in use.iter_rows(named=True)
        if row["limit"] or row["used"]
    ]


HEADINGS = (  # of the lines, and how much of the width each takes
    ("Number", 3),
    ("Title", 5),
    ("What", 7),
    ("Hours", 2),
    ("Money", 2),
    ("Prevents, of the collection's value", 4),
)


def grid(planned: Plan, rows: pl.DataFrame) -> str:
    """One row a treatment: number, title, what is done, hours, money, what it prevents."""
    width = min(max(shutil.get_terminal_size((WIDEST, 0)).columns, NARROWEST), WIDEST)
    console = Console(width=width, no_color=True, highlight=False, markup=False, emoji=False)
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), show_edge=False)
    for heading, ratio in HEADINGS:
        table.add_column(heading, ratio=ratio, overflow="fold")
    for row in rows.iter_rows(named=True):
        table.add_row(*(visible(cell) for cell in _cells(planned, row)))
    with console.capture() as captured:
        console.print(table)
    return "\n".join(line.rstrip() for line in captured.get().rstrip().splitlines())


def _cells(planned: Plan, row: dict[str, Any]) -> tuple[str, ...]:
    what = f"{row['steps'] or row['option_id']}{' (must)' if row['must'] else ''}"
    hours = two_figures(row["hours"]) if row["hours"] else ""
    title = (row["title"] or row["place"] or "").split(",")[0]
    return row["object_id"] or "", title, what, hours, f"{row['money']:,.0f}", _worth(planned, row["worth"])


def _worth(planned: Plan, worth: float) -> str:
    """Two figures, however small: lines are compared with each other."""
    return f"{worth:,.0f}" if planned.in_money else f"{two_figures(worth * PERCENT)} %"


PERCENT = 100  # in a whole


def _document(planned: Plan, rows: pl.DataFrame, undone: pl.DataFrame) -> dict[str, object]:
    return {
        "unit": "money" if planned.in_money else "share",
        "prevented": planned.prevented,
        "at_2h": planned.prevented_twice,
        "expected": planned.expected,
        "bound": planned.bound,
        "gap": planned.gap,
        "proved": planned.proved,
        "stopped": planned.stopped,
        "lines": rows,
        "places": planned.places,
        "limits": use_of_limits(planned),
        "left_out": undone,
        "rules": planned.rules,
        "no_hours": planned.no_hours,
    }
