"""`enamels explain`: why an object is ranked as it is."""

from difflib import get_close_matches
from pathlib import Path

import click

from collection import pipeline
from collection.commands.output import Answer, as_of_option, emit, json_option, opened, resolve_as_of, store_option
from collection.questions.triage import Triage
from collection.questions.words import risk_words
from collection.risk.explain import beside
from collection.risk.explain import explain as explained
from schemas.errors import NotFound
from schemas.vocabularies import STATUS_WORDS, load_parameters, vocabulary


@click.command(epilog="Example: enamels explain V.1912.45; an object number that starts with - goes behind --")
@click.argument("object_id", metavar="OBJECT")
@as_of_option
@store_option
@json_option
def explain(object_id: str, as_of: str | None, store_path: Path, as_json: bool) -> None:
    """Say why an object is ranked as it is: every hazard, its share, and what was assumed."""
    found = pipeline.triage(opened(store_path), lambda c: resolve_as_of(as_of, c))
    if object_id not in found.objects["object_id"]:
        raise NotFound(object_id, "the register has no object of this number", *_near(found, object_id))
    hazards = explained(object_id, found.risk.hazards, found.rates)
    risk = beside(object_id, found.risk, found.rates).row(0, named=True)
    row = next(found.listed(only=(object_id,)).iter_rows(named=True))
    judgement = STATUS_WORDS[load_parameters("rates")["status"]]
    document = {
        "as_of": found.as_of.isoformat(),
        **row,
        "words": risk["words"],
        "rates_are": judgement,
        "hazards": hazards,
    }
    lines = [f"{object_id}: {vocabulary('attention').term[row['attention']].label}; {risk_words(row)}."]
    lines += [f"  because: {reason}" for reason in row["reasons"] or ()]
    lines += [f"  first step: {row['first_step']}", f"  {risk['words']}"]
    lines += [f"  {h['contribution']:.0%} {h['words']}" for h in hazards.iter_rows(named=True)]
    lines.append(f"Starting years and depths are {judgement}; the museum replaces or learns them.")
    emit(Answer("\n".join(lines), document), as_json=as_json)


def _near(found: Triage, said: str) -> tuple[str, str]:
    """What was expected, and what to do: numbers that look like the one asked for."""
    close = get_close_matches(said, found.objects["object_id"].to_list(), n=3)
    expected = f"a number of the register; did you mean {' or '.join(close)}?" if close else ""
    return expected, "Look it up with `enamels triage --json`."
