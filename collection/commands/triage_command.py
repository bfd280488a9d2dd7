"""`enamels triage`: the collection ranked, with reasons, and first of all how much of it has been looked at."""

from collections.abc import Mapping
from pathlib import Path

import click
import polars as pl

from collection import pipeline
from collection.commands.answer import Answer, as_of_option, give, json_option, opened, store_option, the_day
from collection.questions.triage import OBJECT_COLUMNS, Triage
from collection.questions.words import coverage_sentence, need_sentence, object_line
from collection.risk.rates import RatesTable
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
    found = pipeline.triage(opened(store_path), lambda c: the_day(as_of, c))
    if location is not None and location not in found.places:
        raise NotFound(
            "--location", f"there is no place '{location}'", ", ".join(sorted(found.places)[:SHOWN]), "Choose one."
        )
    listed = found.listed(
        location=location, attention=attention_class, seen=seen, top=top or (None if as_json else SHOWN)
    )
    give(_answer(found, listed), as_json=as_json)


def _known_class(name: str | None) -> None:
    known = list(vocabulary("attention").term)
    if name is not None and name not in known:
        raise WrongUsage("--attention", f"'{name}' is no class of attention", ", ".join(known), "Choose one of them.")


def _answer(found: Triage, listed: pl.DataFrame) -> Answer:
    coverage: Mapping[str, int] = found.coverage
    document = {"as_of": found.as_of.isoformat(), "coverage": coverage, "objects": listed.select(OBJECT_COLUMNS)}
    rates = RatesTable.of(found.collection)
    lines = [coverage_sentence(coverage), need_sentence(found), ""]
    lines += [object_line(row, rates) for row in listed.iter_rows(named=True)]
    more = found.listed().height - listed.height
    lines += [f"... and {more} more (--top N)."] if more > 0 else []
    return Answer("\n".join(lines), document)
