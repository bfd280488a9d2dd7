"""A survey drawn by lot: which objects, with which seed, for whom; written before anybody looks."""

from datetime import date

import polars as pl

from collection.questions.expected import by_lot, survey_number
from collection.risk.inspections import in_person
from collection.store import Change, Store
from schemas.errors import RegisterError
from schemas.vocabularies import vocabulary

LARGEST_SEED = 2**31


def draw_survey(store: Store, rows: pl.DataFrame, number: int, *, by: str, day: date) -> tuple[str, pl.DataFrame]:
    """Draw objects by lot and note the survey; returns what came of it and the objects, in the order of their places.

    `rows`: object_id and location_id of those that could be drawn; one that somebody checked since they were read is
    left out. Empty where nothing was written.
    """
    if not by.strip():
        return "First give your name.", rows.clear()
    held = store.read()
    waiting = rows.join(held["condition_check"].filter(in_person()), on="object_id", how="anti")
    if waiting.is_empty():
        return "Nothing was drawn: every object here has been checked.", rows.clear()
    survey_id = survey_number(day, set(held.frames["survey"]["survey_id"]))
    seed = int.from_bytes(survey_id.encode(), "big") % LARGEST_SEED
    drawn = by_lot(waiting, number, seed)
    survey = _survey(survey_id, f"{drawn.height} by lot of {waiting.height} not yet checked", seed, day)
    try:
        written = store.write(Change({"survey": survey}), by=by.strip())
    except RegisterError as error:
        return f"Nothing was written. {error}", rows.clear()
    if written.conflicts.height:
        words = f"Nothing was drawn: somebody else noted survey {survey_id} at the same moment. Draw again."
        return words, rows.clear()
    return f"Survey {survey_id}: {drawn.height} objects. Their checks name this survey.", drawn


def _survey(survey_id: str, design: str, seed: int, day: date) -> pl.DataFrame:
    (lot, *_) = vocabulary("selection").terms_where("by_lot")
    question = "What is there among the objects nobody has checked?"
    return pl.DataFrame(
        {
            "survey_id": survey_id,
            "question": question,
            "selection": lot,
            "design": design,
            "seed": seed,
            "starts_on": day,
        }
    )
