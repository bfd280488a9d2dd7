"""What a survey is carried out with: its objects in the order of a walk, and a sheet to fill and bring back."""

import polars as pl

from collection.frames import returns
from collection.questions.surveys import units_of
from collection.questions.triage import Triage
from collection.questions.walk import WALK, walk
from collection.surveys.outcomes import is_waiting
from schemas.vocabularies import vocabulary

# A sheet to fill. The columns but title and place are those of record `condition_check`.
SHEET = pl.Schema(
    dict.fromkeys(("check_id", "survey_id", "object_id", "title", "place"), pl.String)
    | {"checked_on": pl.Date}
    | dict.fromkeys(("examiner", "visit", "look", "grade"), pl.String)
    | {"minutes": pl.Float64, "summary_observed": pl.String}
)
CHECK_IT = "check it"
c = pl.col


@returns(WALK)
def survey_walk(triage: Triage, survey_id: str) -> pl.DataFrame:
    """The objects of a survey that nobody looked at yet, shelf by shelf, schema WALK.

    Each is to be checked, whatever else the list would let wait; what needs attention now has its own step.
    """
    waiting = units_of(triage, survey_id).filter(is_waiting())
    asked = triage.objects.join(waiting, left_on="object_id", right_on="unit_id", how="semi")
    urgent = asked.filter(c("attention").is_in(triage.now))["object_id"]
    step = pl.when(c("object_id").is_in(urgent.implode())).then("step").otherwise(pl.lit(CHECK_IT))
    return walk(triage, asked).with_columns(step=step)


@returns(SHEET)
def survey_sheet(triage: Triage, survey_id: str) -> pl.DataFrame:
    """The same as rows of checks to fill, schema SHEET: a number each, and a look at each damage, unless changed."""
    turns = units_of(triage, survey_id).select(
        object_id="unit_id", turn=pl.coalesce("draw_order", pl.int_range(1, pl.len() + 1))
    )
    rows = survey_walk(triage, survey_id).join(turns, on="object_id", maintain_order="left")
    (thorough, *_) = vocabulary("look").terms_where("each_damage")
    named = rows.with_columns(
        check_id=pl.format("{}-{}", pl.lit(survey_id), "turn"), survey_id=pl.lit(survey_id), look=pl.lit(thorough)
    )
    empty = {n: pl.lit(None, t).alias(n) for n, t in SHEET.items() if n not in named.columns}
    return named.with_columns(*empty.values()).select(*SHEET)
