"""`enamels explain`: why an object is ranked as it is."""

from dataclasses import replace
from pathlib import Path

import click
from rapidfuzz import process

from collection import pipeline
from collection.commands.options import as_of_option, json_option, store_option
from collection.commands.output import Answer, emit
from collection.intake.as_written import as_written as written_rows
from collection.questions.explain import explain as explained
from collection.questions.explain import lines_to_read, risk_sentence, share_words
from collection.questions.search import by_any_spelling
from collection.questions.triage import Triage
from collection.settings import as_of_day
from collection.store import Store
from schemas.errors import NotFound
from schemas.vocabularies import STATUS_WORDS, load_parameters, vocabulary

NEAR, LIKE_ENOUGH = 3, 60  # near numbers named; how alike they must be [of 100]


@click.command(epilog="Example: enamels explain V.1912.45; an object number that starts with - goes behind --")
@click.argument("number", metavar="OBJECT")
@as_of_option
@store_option
@click.option("--as-written", is_flag=True, help="Show the rows of the files it came from, cell by cell, as well.")
@json_option
def explain(number: str, as_of: str | None, store_path: Path, as_written: bool, as_json: bool) -> None:
    """Say why an object is ranked as it is: every hazard, its share, and what was assumed."""
    triage = pipeline.assess_store(Store(store_path), lambda c: as_of_day(as_of, c))
    object_id = by_any_spelling(triage.collection, number)
    if object_id is None:
        raise NotFound(number, "the register has no object of this number", *_near(triage, number))
    answer = _answer(triage, object_id)
    emit(_with_rows(answer, store_path, triage, object_id) if as_written else answer, as_json=as_json)


def _with_rows(answer: Answer, store_path: Path, triage: Triage, object_id: str) -> Answer:
    """The answer with what the files said, as it was written."""
    rows = written_rows(store_path, triage.collection, object_id)
    lines = [answer.words, *("As it was written:" for _ in rows[:1])]
    for row in rows:
        lines += [f"  {row.title}", *(f"    {heading}: {text}" for heading, text in row.cells)]
    listed = [{"file": row.file, "row": row.row, "cells": dict(row.cells), "lacking": row.lacking} for row in rows]
    return replace(answer, words="\n".join(lines), document={**dict(answer.document), "as_written": listed})


def _answer(triage: Triage, object_id: str) -> Answer:
    hazards = explained(triage, object_id)
    summary = risk_sentence(triage, object_id)
    rows = triage.objects.filter(object_id=object_id)
    row = triage.with_reasons(rows).row(0, named=True)
    judgement = STATUS_WORDS[load_parameters("rates")["status"]]
    document = {"as_of": triage.as_of.isoformat(), **row, "words": summary, "rates_are": judgement, "hazards": hazards}
    lines = [f"{object_id}: {vocabulary('attention').term[row['attention']].label}; {summary}."]
    lines += [f"  because: {reason}" for reason in row["reasons"] or ()]
    lines += [f"  first step: {step}" for step in row["steps"] or ()]
    lines += [f"  {share_words(share)} of it: {words}" for share, words in lines_to_read(hazards)]
    lines.append(f"Starting years and depths are {judgement}; the museum replaces or learns them.")
    return Answer("\n".join(lines), document)


def _near(triage: Triage, number: str) -> tuple[str, str]:
    """What was expected, and what to do: numbers that look like the one asked for."""
    numbers = triage.objects["object_id"].to_list()
    close = [near for near, _, _ in process.extract(number, numbers, limit=NEAR, score_cutoff=LIKE_ENOUGH)]
    expected = f"a number of the register; did you mean {' or '.join(close)}?" if close else ""
    return expected, "Look it up with `enamels triage --find WORDS`."
