"""Surveys noted before anybody looks: how each object was drawn, with the seed, or a round of the checks worth most."""

from dataclasses import dataclass
from datetime import date

import polars as pl

from collection.questions.not_yet_checked import survey_number
from collection.questions.surveys import by_lot_from_all
from collection.questions.words import count, two_figures
from collection.risk.inspections import in_person
from collection.store import Change, Store
from collection.surveys.design import DRAWN, Design, drawn
from schemas.errors import RegisterError
from schemas.terms import Selection
from schemas.vocabularies import terms, vocabulary

LARGEST_SEED = 2**31
QUESTION = "What is there among the objects nobody has checked?"
c = pl.col


@dataclass(frozen=True)
class Purpose:
    """question: what is asked. decision: what is decided with the answer. frame: which objects could be drawn."""

    question: str
    decision: str = ""
    frame: str = ""


def note_survey(
    store: Store, frame: pl.DataFrame, design: Design, shared: pl.DataFrame | None, purpose: Purpose, *, by: str,
    day: date,
) -> tuple[str, str]:  # fmt: skip
    """Draw a survey and note it with its objects; returns what came of it and its number, empty if nothing was written.

    frame : schema FRAME. shared : schema GROUPS, for a design by groups.
    """
    if not by.strip():
        return "First give your name.", ""
    if not purpose.question.strip():
        return "First say what is asked.", ""
    number = survey_number(day, set(store.read_record("survey")["survey_id"]))
    seed = _seed(number)
    units = drawn(frame, design, seed, shared)
    if units.is_empty():
        return "Nothing was drawn: there is no object to draw from.", ""
    words = f"{vocabulary('sampling').labels()[design.sampling]}: {units.height} of {frame.height}"
    row = _survey(number, _chosen_by(design), words, day, seed, purpose) | {
        "sampling": design.sampling, "size": units.height, "margin": design.margin, "confidence": design.confidence,
    }  # fmt: skip
    if shared is not None and shared["cost"].n_unique() > 1:
        row |= {"cost_model": "minutes that checks of each group took so far"}
    return _written(store, row, units, by)


def draw_survey(store: Store, rows: pl.DataFrame, number: int, *, by: str, day: date) -> tuple[str, pl.DataFrame]:
    """Draw objects at random and note the survey; returns what came of it and the objects, by place.

    `rows`: object_id and location_id of those that could be drawn; one that somebody checked since they were read is
    left out. Empty where nothing was written.
    """
    if not by.strip():
        return "First give your name.", rows.clear()
    waiting, survey_id = _waiting(store, rows, day)
    if waiting.is_empty():
        return "Nothing was drawn: every object here has been checked.", rows.clear()
    frame = waiting.select(unit_id="object_id", stratum=pl.lit(None, pl.String), cluster=pl.lit(None, pl.String))
    design = Design(by_lot_from_all(), 1.0, 1.0, size=number)
    units = drawn(frame, design, _seed(survey_id))
    words = f"{units.height} drawn at random from {waiting.height} not yet checked"
    row = _survey(survey_id, _chosen_by(design), words, day, _seed(survey_id), Purpose(QUESTION))
    more = {"sampling": design.sampling, "size": units.height}
    answer, noted = _written(store, row | more, units, by)
    mine = waiting.join(units, left_on="object_id", right_on="unit_id", how="semi")
    return answer, (mine if noted else mine.clear()).sort("location_id", "object_id", nulls_last=True)


def note_round(store: Store, rows: pl.DataFrame, hours: float, *, by: str, day: date) -> tuple[str, pl.DataFrame]:
    """Note a round of checks, those worth most in so many hours [h], as a survey; returns what came of it and the
    objects, without those that somebody checked since. Empty where nothing was written.
    """
    if not by.strip():
        return "First give your name.", rows.clear()
    waiting, survey_id = _waiting(store, rows, day)
    if waiting.is_empty():
        return "Nothing was noted: every object of this round has been checked.", rows.clear()
    words = f"{waiting.height} not yet checked, those whose check is worth most in {two_figures(hours)} hours"
    row = _survey(survey_id, _worst_first(), words, day, None, Purpose(QUESTION))
    units = waiting.select(unit_id="object_id").join(pl.DataFrame(schema=DRAWN), on="unit_id", how="left")
    answer, noted = _written(store, row, units.with_columns(draw_order=pl.int_range(1, pl.len() + 1)), by)
    return answer, waiting if noted else waiting.clear()


def _seed(survey_id: str) -> int:
    return int.from_bytes(survey_id.encode(), "big") % LARGEST_SEED


def _chosen_by(design: Design) -> str:
    """How the objects were chosen: all of them, or at random."""
    takes_all = design.sampling in vocabulary("sampling").terms_where("takes_all")
    ways = {term: way for term, way in terms("selection", Selection).items() if way.representative}
    return next(term for term, way in ways.items() if way.by_lot != takes_all)


def _worst_first() -> str:
    """The way to choose that takes first what is expected to be worst."""
    return next(term for term, way in terms("selection", Selection).items() if way.tilt and not way.not_known)


def _waiting(store: Store, rows: pl.DataFrame, day: date) -> tuple[pl.DataFrame, str]:
    """The rows nobody has checked since they were read, and a number for a survey of them."""
    held = store.read()
    waiting = rows.join(held["condition_check"].filter(in_person()), on="object_id", how="anti", maintain_order="left")
    return waiting, survey_number(day, set(held.frames["survey"]["survey_id"]))


def _survey(
    survey_id: str, selection: str, design: str, day: date, seed: int | None, purpose: Purpose
) -> dict[str, object]:
    row: dict[str, object] = {
        "survey_id": survey_id, "question": purpose.question.strip(), "selection": selection, "design": design,
        "starts_on": day,
    }  # fmt: skip
    typed = {"decision_it_serves": purpose.decision.strip(), "frame": purpose.frame.strip(), "seed": seed}
    return row | {name: value for name, value in typed.items() if value not in ("", None)}


def _written(store: Store, row: dict[str, object], units: pl.DataFrame, by: str) -> tuple[str, str]:
    """What came of it, and the number of the survey, empty where nothing was written."""
    survey_id = str(row["survey_id"])
    named = units.with_columns(survey_id=pl.lit(survey_id))
    try:
        written = store.write(Change({"survey": pl.DataFrame([row]), "survey_unit": named}, whole=True), by=by.strip())
    except RegisterError as error:
        return f"Nothing was written. {error}", ""
    if written.conflicts.height:
        return f"Nothing was written: somebody else noted survey {survey_id} at the same moment. Try again.", ""
    return f"Survey {survey_id}: {count(units.height, 'object')}. Their checks name this survey.", survey_id
