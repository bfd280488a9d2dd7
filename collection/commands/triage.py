"""`enamels triage`: the collection ranked, with reasons, and first of all how much of it has been looked at."""

import shutil
from pathlib import Path
from typing import Any

import click
import polars as pl
from rich.console import Console
from rich.table import Table

from collection import pipeline
from collection.commands.filter_options import filter_options, selection_of
from collection.commands.options import as_of_option, json_option, store_option
from collection.commands.output import Answer, emit, visible
from collection.questions.ranking import RANKED, ranking
from collection.questions.selection import asked_words, select
from collection.questions.triage import Triage
from collection.questions.words import count, coverage_sentence, need_sentence, shown_sentence
from collection.settings import as_of_day
from collection.store import Store
from schemas.vocabularies import vocabulary

SHOWN = 20
NUMBERS = 20  # of several objects that are one thing to do [characters]
NARROWEST, WIDEST = 60, 160  # columns of a terminal [characters]
OBJECT_COLUMNS = [
    "object_id", "title", "attention", "annual_loss", "mean_loss", "collection_loss", "unchecked_loss",
    "chance_12_months", "unsure_times", "reasons", "steps", "look", "assumed", "location_id", "last_checked_on",
]  # fmt: skip


@click.command(epilog="Examples: enamels triage --top 30; enamels triage --location E1 --attention act_secure")
@click.option("--top", type=click.IntRange(1), help=f"How many objects to list (default: {SHOWN}; with --json all).")
@filter_options
@as_of_option
@store_option
@json_option
def triage(top: int | None, as_of: str | None, store_path: Path, as_json: bool, **typed: Any) -> None:
    """Rank the collection: what needs attention, why, and the first step."""
    assessed = pipeline.assess_store(Store(store_path), lambda c: as_of_day(as_of, c))
    selection = selection_of(assessed, typed)
    chosen = select(assessed, selection)
    rows = chosen if top is None and as_json else chosen.head(top or SHOWN)
    words = [*assessed.warnings, *sentences(assessed, chosen, asked_words(assessed, selection)), ""]
    words += ["" if as_json else table(assessed, chosen, rows.height)]
    words += [f"... and {chosen.height - rows.height:,} more (--top N)."] if chosen.height > rows.height else []
    emit(Answer("\n".join(words), _document(assessed, chosen, rows) if as_json else {}), as_json=as_json)


def _document(assessed: Triage, chosen: pl.DataFrame, rows: pl.DataFrame) -> dict[str, object]:
    return {
        "as_of": assessed.as_of.isoformat(),
        "coverage": assessed.coverage(chosen),
        "objects": objects(assessed, rows),
    }


def objects(assessed: Triage, rows: pl.DataFrame) -> pl.DataFrame:
    """The rows with title and reasons: what `--json` lists."""
    titles = assessed.collection["object"].select("object_id", "title")
    named = assessed.with_reasons(rows).join(titles, on="object_id", how="left", maintain_order="left")
    return named.select(OBJECT_COLUMNS)


def sentences(assessed: Triage, chosen: pl.DataFrame, asked: str) -> list[str]:
    """Coverage of what was asked for, what of the whole is shown, what needs attention; or that nothing was found."""
    if chosen.is_empty() and asked:
        return [f"No object found ({asked}); the register holds {count(assessed.objects.height, 'object')}."]
    shown = shown_sentence(assessed, chosen, asked)
    return [*([shown] if shown else []), coverage_sentence(assessed.coverage(chosen)), need_sentence(assessed, chosen)]


def table(assessed: Triage, chosen: pl.DataFrame, top: int) -> str:
    """The first rows as a table that fits the window, grouped by class in the order of the list.

    Of a class that is cut off, how many of how many are shown.
    """
    whole = dict(chosen["attention"].value_counts().iter_rows())
    width = min(max(shutil.get_terminal_size((WIDEST, 0)).columns, NARROWEST), WIDEST)
    console = Console(width=width, no_color=True, highlight=False, markup=False, emoji=False)
    with console.capture() as captured:
        for term, group in _groups(assessed, chosen.head(top)):
            part = "" if group.height == whole[term] else f"{group.height:,} of "
            console.print(f"{vocabulary('attention').labels()[term]} ({part}{count(whole[term], 'object')})")
            console.print(_grid(group))
            console.print()
    return "\n".join(line.rstrip() for line in captured.get().rstrip().splitlines())


def _groups(assessed: Triage, rows: pl.DataFrame) -> list[tuple[str, pl.DataFrame]]:
    """Runs of one class, a term of `attention`, as they follow each other in the list."""
    runs = ranking(assessed, rows).with_columns(run=pl.col("attention").rle_id())
    return [(run["attention"][0], run.select(RANKED.names())) for run in runs.partition_by("run")]


def _grid(group: pl.DataFrame) -> Table:
    """One row an object: what comes before anything else, why it stands here, the first step."""
    grid = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), show_edge=False)
    headings = (("Number", 3), ("Title", 4), ("Place", 3), ("What", 9), ("First step", 9))
    for heading, ratio in headings:
        grid.add_column(heading, ratio=ratio, overflow="fold", max_width=NUMBERS if heading == "Number" else None)
    for row in one_row_each_task(group).iter_rows(named=True):
        what = ". ".join(words for words in (row["heed"], row["reasons"] or "nothing recorded against it") if words)
        title = _short(row["title"]) if row["objects"] == 1 else count(row["objects"], "object")
        cells = (row["object_id"], title, row["place"], what, row["first_step"])
        grid.add_row(*(visible(cell or "") for cell in cells))
    return grid


def one_row_each_task(group: pl.DataFrame) -> pl.DataFrame:
    """Objects of one place with one reason and one first step as one row, where the first of them stands; `objects`.

    What has something before all else (a danger, a loan) stands alone.
    """
    alone = pl.when(pl.col("heed").is_not_null()).then("object_id")
    keys = ["location_id", "reasons", "first_step", "alone"]
    rest = [name for name in group.columns if name not in (*keys, "object_id")]
    gathered = group.with_columns(alone=alone).group_by(keys, maintain_order=True)
    return gathered.agg(pl.col("object_id").str.join(", "), pl.col(rest).first(), objects=pl.len())


def _short(title: str | None, most: int = 40) -> str:
    """A title that leaves room: to its first comma, or cut."""
    head = (title or "").split(",")[0]
    return head if len(head) <= most else f"{head[: most - 1]}\N{HORIZONTAL ELLIPSIS}"
