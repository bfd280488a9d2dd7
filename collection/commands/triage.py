"""`enamels triage`: the collection ranked, with reasons, and first of all how much of it has been looked at."""

from pathlib import Path

import click
import polars as pl

from collection import pipeline
from collection.commands.output import Answer, as_of_option, emit, json_option, opened, resolve_as_of, store_option
from collection.questions.places import place_called
from collection.questions.triage import OBJECT_COLUMNS, Triage
from collection.questions.words import coverage_sentence, need_sentence, object_line
from schemas.errors import NotFound, WrongUsage
from schemas.vocabularies import vocabulary

SHOWN = 20


@click.command(epilog="Examples: enamels triage --top 30; enamels triage --location E1 --attention now_secure")
@click.option("--top", type=click.IntRange(1), help=f"How many objects to list (default: {SHOWN}; with --json all).")
@click.option("--location", help="Only this place and what lies in it.")
@click.option("--attention", "attention_class", help="Only objects of this class of attention.")
@click.option("--seen/--unseen", "seen", default=None, help="Only objects that were, or were not, looked at.")
@as_of_option
@store_option
@json_option
def triage(
    top: int | None,
    location: str | None,
    attention_class: str | None,
    seen: bool | None,
    as_of: str | None,
    store_path: Path,
    as_json: bool,
) -> None:
    """Rank the collection: what needs attention, why, and the first step."""
    _known_class(attention_class)
    found = pipeline.triage(opened(store_path), lambda c: resolve_as_of(as_of, c))
    place = None if location is None else _place(found, location)
    matching = found.matching(location=place, attention=attention_class, seen=seen)
    listed = found.listed(matching, top=top or (None if as_json else SHOWN))
    emit(_answer(found, listed, matching.height), as_json=as_json)


def _place(found: Triage, said: str) -> str:
    place = place_called(found.collection["location"], said)
    if place is None:
        known = ", ".join(sorted(found.places)[:SHOWN])
        raise NotFound("--location", f"there is no place '{said}'", known, "Choose one, by number or name.")
    return place


def _known_class(name: str | None) -> None:
    known = list(vocabulary("attention").term)
    if name is not None and name not in known:
        raise WrongUsage("--attention", f"'{name}' is no class of attention", ", ".join(known), "Choose one of them.")


def _answer(found: Triage, listed: pl.DataFrame, matching: int) -> Answer:
    """The document has every row that is listed, the words no more than a person reads."""
    document = {"as_of": found.as_of.isoformat(), "coverage": found.coverage, "objects": listed.select(OBJECT_COLUMNS)}
    said = listed.head(SHOWN) if listed.height == matching else listed
    lines = [coverage_sentence(found.coverage), need_sentence(found), ""]
    lines += [object_line(row, found.rates) for row in said.iter_rows(named=True)]
    lines += [f"... and {matching - said.height} more (--top N)."] if matching > said.height else []
    return Answer("\n".join(lines), document)
