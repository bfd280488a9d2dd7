"""A survey drawn by lot: which objects, with which seed, for whom; written before anybody looks."""

from datetime import date

import polars as pl

from collection.questions.expected import by_lot, survey_number
from collection.store import Change, Store
from schemas.errors import RegisterError
from schemas.vocabularies import vocabulary

LARGEST_SEED = 2**31


def draw_survey(store: Store, rows: pl.DataFrame, number: int, *, by: str, day: date) -> tuple[str, pl.DataFrame]:
    """Draw objects by lot and note the survey; returns what came of it and the objects, in the order of their places.

    `rows`: object_id and location_id of those that could be drawn. Empty where nothing was written.
    """
    if not by.strip():
        return "First give your name.", rows.clear()
    surveys = store.read()["survey"]
    survey_id = survey_number(day, set(surveys["survey_id"]))
    seed = int.from_bytes(survey_id.encode(), "big") % LARGEST_SEED
    (by_lot_term, *_) = vocabulary("selection").terms_where("by_lot")
    drawn = by_lot(rows, number, seed)
    survey = pl.DataFrame(
        {
            "survey_id": survey_id,
            "question": "What is there among the objects nobody has checked?",
            "selection": by_lot_term,
            "design": f"{drawn.height} by lot of {rows.height} not yet checked",
            "seed": seed,
            "starts_on": day,
        }
    )
    try:
        store.write(Change({"survey": survey}), by=by.strip())
    except RegisterError as error:
        return f"Nothing was written. {error}", rows.clear()
    return f"Survey {survey_id}: {drawn.height} objects. Their checks name this survey.", drawn
