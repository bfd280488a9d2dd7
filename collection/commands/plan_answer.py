"""What `enamels plan` says of a plan: sentences, a table by year, one document, a page for the director, a workbook."""

import shutil
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import click
import polars as pl
from rich.console import Console
from rich.table import Table

from collection.commands.documents_out import write_pdf, write_workbook
from collection.commands.output import Answer, visible
from collection.commands.triage import NARROWEST, WIDEST
from collection.documents.attachment import is_report
from collection.documents.plan_page import plan_page, plan_workbook
from collection.files import require_free
from collection.plan.plan import Plan
from collection.plan.stability import Stability
from collection.questions.estimates import bias, bias_sentence, to_estimate, to_estimate_sentence
from collection.questions.plan_tables import money_unit
from collection.questions.triage import Triage
from collection.questions.words import two_figures
from collection.questions.year_plan import (
    MONEY,
    draws_sentence,
    left_undone,
    rules_sentence,
    schedule,
    sentence,
    use_of_limits,
    with_draws,
)
from collection.store.workbook import is_ours
from schemas.errors import WrongUsage

PERCENT, LEAST = 100, 1e-5  # in a whole; per cent below which no figure is shown
HEADINGS = (  # of the lines, and how much of the width each takes
    ("Number", 3),
    ("Title", 5),
    ("What", 7),
    ("Hours [h]", 2),
    ("Money", 2),
    ("Prevents, of the collection's value", 4),
    ("In draws", 2),
)
PAGE, WORKBOOK = ".pdf", ".xlsx"


def answer(triage: Triage, plan: Plan, draws: Stability) -> Answer:
    """The plan for people, and as one document."""
    rows, undone, use = with_draws(schedule(triage, plan), draws), left_undone(triage, plan), use_of_limits(plan)
    estimates = to_estimate(triage)
    lines = [*triage.warnings, sentence(plan), rules_sentence(plan), draws_sentence(draws), ""]
    for year in rows["year"].unique().sort():
        mine = pl.col("year") == year
        lines += [str(year), grid(plan, rows.filter(mine)), *_use(use.filter(mine), money_unit(plan)), ""]
    why = undone["why"].value_counts(sort=True).sort("count", "why", descending=[True, False]).iter_rows()
    lines += ["Left undone:", *(f"  {n}: {reason}" for reason, n in why)] if undone.height else []
    lines += filter(None, (to_estimate_sentence(triage, estimates), bias_sentence(bias(triage))))
    return Answer("\n".join(lines), document(triage, plan, rows, undone, draws))


def _use(use: pl.DataFrame, unit: str) -> Sequence[str]:
    """*127 of 130 hours of enamel conservator*; money in its unit."""
    return [
        f"  {row['used']:,.0f} of {row['limit']:,.0f} {unit if row['what'] == MONEY else row['what']}"
        for row in use.iter_rows(named=True)
        if row["limit"] or row["used"]
    ]


def grid(plan: Plan, rows: pl.DataFrame) -> str:
    """One row a treatment: number, title, what is done, hours, money, what it prevents, how often it stays."""
    width = min(max(shutil.get_terminal_size((WIDEST, 0)).columns, NARROWEST), WIDEST)
    console = Console(width=width, no_color=True, highlight=False, markup=False, emoji=False)
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), show_edge=False)
    headings = HEADINGS if "in_draws" in rows.columns else HEADINGS[:-1]
    unit = money_unit(plan)
    in_unit = {"Money": f"Money [{unit}]"} if unit != MONEY else {}
    for heading, ratio in headings:
        table.add_column(in_unit.get(heading, heading), ratio=ratio, overflow="fold")
    for row in rows.iter_rows(named=True):
        table.add_row(*(visible(cell) for cell in _cells(plan, row)))
    with console.capture() as captured:
        console.print(table)
    return "\n".join(line.rstrip() for line in captured.get().rstrip().splitlines())


def _cells(plan: Plan, row: dict[str, Any]) -> tuple[str, ...]:
    what = f"{row['steps'] or row['option_id']}{' (must)' if row['must'] else ''}"
    hours = two_figures(row["hours"]) if row["hours"] else ""
    title = (row["title"] or row["place"] or "").split(",")[0]
    draws = (f"{row['in_draws'] * PERCENT:.0f} %",) if row.get("in_draws") is not None else ()
    return row["object_id"] or "", title, what, hours, f"{row['money']:,.0f}", _worth(plan, row["worth"]), *draws


def _worth(plan: Plan, worth: float) -> str:
    """Two figures, however small: lines are compared with each other."""
    return f"{worth:,.0f}" if plan.in_money else _share(worth)


def _share(worth: float) -> str:
    return f"{two_figures(worth * PERCENT)} %" if worth * PERCENT >= LEAST else f"under {LEAST:.5f} %"


def document(
    triage: Triage, plan: Plan, rows: pl.DataFrame, undone: pl.DataFrame, draws: Stability | None = None
) -> dict[str, object]:
    """The plan for programs."""
    its: dict[str, object] = {
        "unit": "money" if plan.in_money else "share",
        "first_year": plan.first_year,
        "years": plan.years,
        "horizon": plan.horizon,
        "prevented": plan.prevented,
        "at_2h": plan.prevented_twice,
        "expected": plan.expected,
        "bound": plan.bound,
        "gap": plan.gap,
        "proved": plan.proved,
        "stopped": plan.stopped,
        "lines": rows,
        "places": plan.places,
        "limits": use_of_limits(plan),
        "left_out": undone,
        "rules": plan.rules,
        "no_hours": plan.no_hours,
        "bias": bias(triage),
    }
    if draws is None:
        return its
    checked = {"draws": draws.draws, "prices_held": True, "solved": draws.solved, "agree": draws.agree}
    return {**its, "stability": checked}


def plan_out_option(command: Callable[..., None]) -> Callable[..., None]:
    """`--out` (any number of files, parameter `outputs`) and `--replace`."""
    words = "Write it too: one page for the director (.pdf), or all of it as a workbook (.xlsx)."
    kind = click.Path(path_type=Path, dir_okay=False)
    out = click.option(
        "--out", "outputs", multiple=True, type=kind, metavar="FILE", callback=_known_endings, help=words
    )  # fmt: skip
    return out(click.option("--replace", is_flag=True, help="Write over what an earlier run wrote.")(command))


def require_outputs(outputs: Sequence[Path], *, store: Path, replace: bool) -> None:
    """Raise OutputRefused, before anything is worked out, for a file that may not be written to."""
    for path in outputs:
        ours = is_report if path.suffix.lower() == PAGE else is_ours
        require_free(path, store=store, replace=replace and ours)


def write_plan(triage: Triage, plan: Plan, draws: Stability, outputs: Sequence[Path], *, replace: bool) -> None:
    """The plan in each file. Raises OutputRefused where a file is there that is not ours or not to be replaced."""
    for path in outputs:
        if path.suffix.lower() == PAGE:
            write_pdf(plan_page(triage, plan), path, replace=replace)
        else:
            write_workbook(plan_workbook(triage, plan, draws=draws), path, replace=replace)


def with_files(answer: Answer, outputs: Sequence[Path]) -> Answer:
    """The answer, and below it what was written where."""
    listed = "\n".join(("", "", "Written:", *(f"  {path}" for path in outputs)))
    return Answer(answer.words + listed, {**answer.document, "files": [str(path) for path in outputs]})


def _known_endings(_context: click.Context, _option: click.Parameter, outputs: tuple[Path, ...]) -> tuple[Path, ...]:
    """Raise WrongUsage before anything is worked out."""
    for path in outputs:
        if path.suffix.lower() not in (PAGE, WORKBOOK):
            expected = f"a name that ends in {PAGE} or {WORKBOOK}"
            raise WrongUsage("--out", f"\u2018{path}\u2019 names no kind of file there is", expected, "Name it so.")
    return outputs
