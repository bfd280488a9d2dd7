"""`enamels repairs`: how long repairs last, by function and material."""

from pathlib import Path
from typing import Any

import click

from collection import pipeline
from collection.commands.filter_options import filter_options, selection_of
from collection.commands.options import as_of_option, json_option, store_option
from collection.commands.output import Answer, emit
from collection.questions.repairs_last import PEOPLE_REMOVE, Lasting, estimates_of, lasting, repairs_last, sentences
from collection.questions.selection import select
from collection.settings import as_of_day
from collection.store import Store


@click.command(epilog="Examples: enamels repairs; enamels repairs --technique cloisonne --json")
@filter_options
@as_of_option
@store_option
@json_option
def repairs(as_of: str | None, store_path: Path, as_json: bool, **typed: Any) -> None:
    """How long repairs last, by function and material: a curve where there is enough to draw one, else a rate."""
    triage = pipeline.assess_store(Store(store_path), lambda c: as_of_day(as_of, c))
    its = repairs_last(triage, select(triage, selection_of(triage, typed)))
    document = {"as_of": triage.as_of.isoformat(), "repairs": estimates_of(its), "cautions": [PEOPLE_REMOVE]}
    words = "\n".join([*sentences(its), "", *_lines(its), "", PEOPLE_REMOVE])
    emit(Answer(words, document if as_json else {}), as_json=as_json)


def _lines(its: list[Lasting]) -> list[str]:
    """One line a group."""
    return [
        f"{r['group']}: {r['failures']} of {r['watched']} failed in {r['years']:,.0f} years watched;"
        f" {r['words'].rstrip('.')}."
        for r in lasting(its).iter_rows(named=True)
    ]
