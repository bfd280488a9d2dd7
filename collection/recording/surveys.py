"""Surveys noted before anybody looks: objects drawn by lot, with the seed, or a round of the checks worth most."""

from datetime import date

import polars as pl

from collection.questions.expected import by_lot, survey_number
from collection.questions.words import two_figures
from collection.risk.inspections import in_person
from collection.store import Change, Store
from schemas.errors import RegisterError
from schemas.terms import Selection
from schemas.vocabularies import terms, vocabulary

LARGEST_SEED = 2**31
QUESTION = "What is there among the objects nobody has checked?"


def draw_survey(store: Store, rows: pl.DataFrame, number: int, *, by: str, day: date) -> tuple[str, pl.DataFrame]:
    """Draw objects by lot and note the survey; returns what came of it and the objects, in the order of their places.

    `rows`: object_id and location_id of those that could be drawn; one that somebody checked since they were read is
    left out. Empty where nothing was written.
    """
    if not by.strip():
        return "First give your name.", rows.clear()
    waiting, survey_id = _waiting(store, rows, day)
    if waiting.is_empty():
        return "Nothing was drawn: every object here has been checked.", rows.clear()
    seed = int.from_bytes(survey_id.encode(), "big") % LARGEST_SEED
    drawn = by_lot(waiting, number, seed)
    (lot, *_) = vocabulary("selection").terms_where("by_lot")
    design = f"{drawn.height} by lot of {waiting.height} not yet checked"
    survey = _survey(survey_id, lot, design, day, seed)
    return _written(store, survey, drawn, by)


def note_round(store: Store, rows: pl.DataFrame, hours: float, *, by: str, day: date) -> tuple[str, pl.DataFrame]:
    """Note a round of checks, those worth most in so many hours [h], as a survey; returns what came of it and the
    objects, without those that somebody checked since. Empty where nothing was written.
    """
    if not by.strip():
        return "First give your name.", rows.clear()
    waiting, survey_id = _waiting(store, rows, day)
    if waiting.is_empty():
        return "Nothing was noted: every object of this round has been checked.", rows.clear()
    design = f"{waiting.height} not yet checked, those whose check is worth most in {two_figures(hours)} hours"
    return _written(store, _survey(survey_id, _worst_first(), design, day, None), waiting, by)


def _worst_first() -> str:
    """The way to choose that takes first what is expected to be worst."""
    return next(term for term, way in terms("selection", Selection).items() if way.tilt and not way.not_known)


def _waiting(store: Store, rows: pl.DataFrame, day: date) -> tuple[pl.DataFrame, str]:
    """The rows nobody has checked since they were read, and a number for a survey of them."""
    held = store.read()
    waiting = rows.join(held["condition_check"].filter(in_person()), on="object_id", how="anti", maintain_order="left")
    return waiting, survey_number(day, set(held.frames["survey"]["survey_id"]))


def _written(store: Store, survey: pl.DataFrame, objects: pl.DataFrame, by: str) -> tuple[str, pl.DataFrame]:
    survey_id = survey["survey_id"][0]
    try:
        written = store.write(Change({"survey": survey}), by=by.strip())
    except RegisterError as error:
        return f"Nothing was written. {error}", objects.clear()
    if written.conflicts.height:
        words = f"Nothing was written: somebody else noted survey {survey_id} at the same moment. Try again."
        return words, objects.clear()
    return f"Survey {survey_id}: {objects.height} objects. Their checks name this survey.", objects


def _survey(survey_id: str, selection: str, design: str, day: date, seed: int | None) -> pl.DataFrame:
    row = {"survey_id": survey_id, "question": QUESTION, "selection": selection, "design": design, "starts_on": day}
    return pl.DataFrame(row if seed is None else row | {"seed": seed})
