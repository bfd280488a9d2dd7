"""How sure the list is: what stays in it whatever the starting values, and which of them move it most."""

import polars as pl

from collection.facts.traits import first_words
from collection.frames import returns
from collection.questions.triage import Triage
from collection.questions.words import count, two_figures
from collection.risk.draws import DRAWN, Drawing, draw
from collection.risk.parameters import HowSure, read
from collection.risk.sensitivity import sway
from schemas.vocabularies import vocabulary

c = pl.col


@returns(DRAWN)
def drawn(triage: Triage) -> pl.DataFrame:
    """Losses over the ranges of the starting values, schema DRAWN; the order is by what the collection loses."""
    weights = triage.objects.select("object_id", weight="value_share")
    return draw(triage.risk.hazards, weights, triage.rates, Drawing(first=_lines().first))


def list_sentence(rows: pl.DataFrame) -> str:
    """*Ten of these twenty are there whatever starting values you believe within their ranges; ...*"""
    lines, first = _lines(), _lines().first
    largest = rows.sort("in_first", descending=True).head(first)
    if largest.height < first:
        return f"Only {count(largest.height, 'object has', 'objects have')} anything on record that could cost them."
    always = largest.filter(c("in_first") >= lines.always).height
    swapped = largest.filter(c("in_first") < lines.open).height
    words = (
        f"Of the {first} objects the collection loses most in, {always} are there whatever starting values you believe"
        " within their ranges"
    )
    return f"{words}; the last {swapped} could change places with the next." if swapped else f"{words}."


def row_sentence(rows: pl.DataFrame, object_id: str) -> str:
    """*In 77 of 100 draws of the starting values it is among the 20 objects in which the collection loses most.*

    Empty where it has nothing that could cost it.
    """
    mine = rows.filter(c("object_id") == object_id)
    if mine.is_empty():
        return ""
    chance, first = round(100 * float(mine["in_first"].item())), _lines().first
    where = f"among the {first} objects in which the collection loses most"
    if not chance:
        return f"In none of 100 draws of the starting values is it {where}."
    return f"In {chance} of 100 draws of the starting values it is {where}."


def swaying(triage: Triage) -> pl.DataFrame:
    """Rows of the rates that nobody measured, by how far they move the total: schema SWAY with `words`."""
    rows = sway(triage.risk.hazards, triage.risk.objects, triage.rates, _lines().first)
    return rows.with_columns(words=pl.Series([cell_words(cell) for cell in rows["cell"]], dtype=pl.String))


def swaying_sentence(rows: pl.DataFrame) -> str:
    """*The starting value that moves the total most: active lifting; at its short years it would be 1.9 times ...*"""
    if rows.is_empty():
        return ""
    one = rows.row(0, named=True)
    times = two_figures(one["total_short"])
    return (
        f"The starting value that moves the total most is that of {one['words']}: with its short years the total would"
        f" be {times} times what it is."
    )


def _lines() -> HowSure:
    return read(HowSure, "lines", "how_sure")


def cell_words(cell: str) -> str:
    """*active lifting*, *dormant crizzling, stage 3*, *coating that harms*: a cell of the rates in words."""
    table, name, state = cell.split("/")
    if table == "damage":
        return _damage_words(name, state)
    uses, states = vocabulary("repair_function").term, vocabulary("stability").term
    its = states[next(s for s in states if state.startswith(s))]
    noun = str(uses[name].get("noun")) if name in uses else first_words(vocabulary("repair_material").labels()[name])
    return f"{noun} that {its.get('words')}"


def _damage_words(row: str, state: str) -> str:
    staged = vocabulary("damage").properties("rows_by_stage")
    kind = next((kind for kind, rows in staged.items() if row in rows), row)
    stages = [str(stage) for stage, its in enumerate(staged.get(kind, ()), start=1) if its == row]
    words = ", ".join(filter(None, (first_words(vocabulary("damage").labels()[kind]), _stage_words(stages))))
    if state in vocabulary("activity").terms_where("not_assessed"):
        return f"{words}, not assessed"
    return f"{first_words(vocabulary('activity').labels()[state])} {words}"


def _stage_words(stages: list[str]) -> str:
    return f"stage {' or '.join(stages)}" if stages else ""
