"""`enamels trends` and `repairs`: what got worse and what only looked so, and how long repairs last."""

from datetime import date
from pathlib import Path
from typing import Any

import click
import polars as pl

from collection import pipeline
from collection.commands.filter_options import filter_options, selection_of
from collection.commands.options import as_of_option, day_asked, json_option, store_option
from collection.commands.output import Answer, emit
from collection.pipeline import hours_since_first_check
from collection.questions import damage_over_time, grades_over_time, repairs_last, stories_over_time
from collection.questions.damage_over_time import Watched, rates_by, watched_of
from collection.questions.over_time import (
    OverTime,
    apart_sentence,
    estimates_of,
    first_sentence,
    over_time,
    overstated,
    raw_sentence,
    span_sentence,
)
from collection.questions.selection import asked_words, select
from collection.questions.triage import Triage
from collection.questions.words import shown_sentence
from collection.settings import as_of_day
from collection.store import Store
from collection.trends.damage_rates import GROUPS
from collection.trends.examiners import Decline
from schemas.errors import WrongUsage


@click.command(epilog="Examples: enamels trends; enamels trends --from 2017-11-01 --to 2026-03-01 --location L2")
@click.option("--from", "start", metavar="DATE", help="Grades from about this day on; else from the first round.")
@click.option("--to", "end", metavar="DATE", help="Grades until about this day; else until the last round.")
@filter_options
@as_of_option
@store_option
@json_option
def trends(
    start: str | None, end: str | None, as_of: str | None, store_path: Path, as_json: bool, **typed: Any
) -> None:
    """What got worse, and what only looked so: grades, who graded, damage by kind, technique, room and year."""
    first, last = (day_asked(name, day) if day else None for name, day in (("--from", start), ("--to", end)))
    _require_order(first, last)
    store = Store(store_path)
    triage = pipeline.assess_store(store, lambda c: as_of_day(as_of, c))
    selection = selection_of(triage, typed)
    chosen = select(triage, selection)
    its, watched = over_time(triage, chosen, first, last), watched_of(triage, chosen, first, last)
    standing_out = stories_over_time.cells_standing_out(triage, watched, hours_since_first_check(store, triage))
    shown = shown_sentence(triage, chosen, asked_words(triage, selection))
    words = "\n".join(line for line in (shown, *sentences(triage, its, watched, standing_out)) if line)
    emit(Answer(words, document(triage, its, watched, standing_out) if as_json else {}), as_json=as_json)


def _require_order(start: date | None, end: date | None) -> None:
    if start and end and start >= end:
        raise WrongUsage("--to", f"{end} does not come after {start}", "a day after --from", "Choose a later day.")


def sentences(triage: Triage, its: OverTime, watched: Watched, standing_out: pl.DataFrame) -> list[str]:
    """What a person reads, the answer first."""
    weak = grades_over_time.KNOWN_WEAKNESSES if isinstance(its.decline, Decline) else ""
    return [
        first_sentence(its), span_sentence(its), raw_sentence(its), apart_sentence(its),
        grades_over_time.ahead_sentence(its), grades_over_time.examiners_sentence(its), weak,
        *stories_over_time.story_sentences(watched, standing_out), damage_over_time.handled_sentence(watched),
    ]  # fmt: skip


def document(triage: Triage, its: OverTime, watched: Watched, standing_out: pl.DataFrame) -> dict[str, object]:
    """The same for programs."""
    return {
        "as_of": triage.as_of.isoformat(),
        "from": its.start.isoformat(),
        "to": its.end.isoformat(),
        "graded_in_both": its.matched_rows.height,
        "grades": grades_over_time.both_grades(its),
        "transitions": grades_over_time.grade_moves(its),
        **estimates_of(its),
        "overstated_times": overstated(its),
        "grades_ahead": grades_over_time.ahead_estimates(its),
        "examiners": grades_over_time.examiner_estimates(its),
        "rates": {by: damage_over_time.estimates_of(rates_by(triage, watched, by)) for by in GROUPS},
        "cells_tested": watched.tested.height,
        "stories": stories_over_time.story_estimates(standing_out),
        "cautions": [grades_over_time.KNOWN_WEAKNESSES],
    }


@click.command(epilog="Examples: enamels repairs; enamels repairs --technique cloisonne --json")
@filter_options
@as_of_option
@store_option
@json_option
def repairs(as_of: str | None, store_path: Path, as_json: bool, **typed: Any) -> None:
    """How long repairs last, by function and material: a curve where there is enough to draw one, else a rate."""
    triage = pipeline.assess_store(Store(store_path), lambda c: as_of_day(as_of, c))
    its = repairs_last.repairs_last(triage, select(triage, selection_of(triage, typed)))
    document = {
        "as_of": triage.as_of.isoformat(),
        "repairs": repairs_last.estimates_of(its),
        "cautions": [repairs_last.PEOPLE_REMOVE],
    }
    words = "\n".join([*repairs_last.sentences(its), "", *_lines(its), "", repairs_last.PEOPLE_REMOVE])
    emit(Answer(words, document if as_json else {}), as_json=as_json)


def _lines(its: list[repairs_last.Lasting]) -> list[str]:
    """One line a group."""
    return [
        f"{r['group']}: {r['failures']} of {r['watched']} failed in {r['years']:,.0f} years watched;"
        f" {r['words'].rstrip('.')}."
        for r in repairs_last.lasting(its).iter_rows(named=True)
    ]
