"""The list a person works down: what needs attention now first, then the rest in order, and how far the hours go."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import polars as pl

from collection.frames import returns
from collection.questions.backlog import WEEKS_A_YEAR, hours_a_week, waiting_options
from collection.questions.cautions import heed
from collection.questions.triage import Triage, classes_in_order
from collection.questions.words import SHOWN_REASONS, need_words, risk_words
from schemas.vocabularies import vocabulary

TEXTS = (
    "object_id", "title", "attention", "label", "heed", "risk", "reasons", "first_step", "place", "location_id",
)  # fmt: skip
RANKED = pl.Schema(
    {"line": pl.UInt32()}
    | {n: pl.String() for n in TEXTS}
    | {"hours": pl.Float64(), "reach": pl.String(), "last_checked_on": pl.Date(), "collection_loss": pl.Float64()}
)
REACHED, LATER, NO_HOURS = "within the year's hours", "after them", "no hours known"
NOT_SET = "hours a week are not set"


@dataclass(frozen=True)
class Reach:
    """How far a year's hours go among the objects whose treatment has an estimate. None where hours are not set."""

    hours_a_week: float | None
    hours: float
    reached: int
    with_hours: int


@returns(RANKED)
def ranking(triage: Triage, chosen: pl.DataFrame) -> pl.DataFrame:
    """Schema RANKED: the chosen objects in the one order, with words. hours [h]; `reach` follows the hours down.

    `heed` is what comes before anything else about an object; `reasons` are its two largest causes.
    """
    full = triage.with_reasons(chosen).with_row_index("line", offset=1)
    full = _with_names(triage, full).join(_hours(triage), on="object_id", how="left", maintain_order="left")
    heeded = full.join(heed(triage), on="object_id", how="left", maintain_order="left")
    worded = heeded.with_columns(
        risk=pl.Series([risk_words(row) for row in full.iter_rows(named=True)], dtype=pl.String),
        reasons=pl.col("reasons").list.head(SHOWN_REASONS).list.join("; "),
        first_step=pl.col("steps").list.join("; then "),
        label=pl.col("attention").replace_strict(vocabulary("attention").labels(), return_dtype=pl.String),
        reach=_reach(triage),
    )
    return worded.select(pl.col(n).cast(t) for n, t in RANKED.items())


def reach(triage: Triage, listed: pl.DataFrame) -> Reach:
    """Of the listed objects whose treatment has an estimate, how many a year's hours reach."""
    known = listed.filter(pl.col("hours").is_not_null())
    reached = known.filter(pl.col("reach") == REACHED).height
    return Reach(hours_a_week(triage), float(known["hours"].sum()), reached, known.height)


def answer(triage: Triage, listed: pl.DataFrame) -> str:
    """*31 objects need attention now: 12 to secure; 19 to move ... The next of them leaves on 16 November 2026.*"""
    if listed.is_empty():
        return "No object found."
    need = need_words(listed)
    return f"{need}." if need else "No object here needs attention now."


def hours_sentence(triage: Triage, listed: pl.DataFrame) -> str:
    """*Treating the 23 that have an estimate takes about 182 hours; 18 of them fit into a year of 3 hours a week.*

    Securing and moving is minutes and stands in no estimate.
    """
    got = reach(triage, listed)
    if not got.with_hours:
        return "No treatment here has an estimate in hours yet."
    which = "the one that has" if got.with_hours == 1 else f"the {got.with_hours} that have"
    takes = f"Treating {which} an estimate takes about {round(got.hours):,} hours"
    if got.hours_a_week is None:
        return f"{takes}; hours a week are not set, so how far they go is not known."
    week = f"{got.hours_a_week:g} {'hour' if got.hours_a_week == 1 else 'hours'}"
    return f"{takes}; {got.reached} of them {'fits' if got.reached == 1 else 'fit'} into a year of {week} a week."


def by_class(listed: pl.DataFrame) -> Mapping[str, int]:
    """Class of attention to number of objects, in the order of the list, zeros left out."""
    counts = dict(listed["attention"].value_counts().iter_rows())
    return {term: counts[term] for term in classes_in_order() if term in counts}


def one(triage: Triage, object_id: str) -> Mapping[str, Any]:
    """The row of one object, schema RANKED; its reach is not known, since it follows from the list."""
    return ranking(triage, triage.objects.filter(pl.col("object_id") == object_id)).row(0, named=True)


def _with_names(triage: Triage, rows: pl.DataFrame) -> pl.DataFrame:
    titles = triage.collection["object"].select("object_id", "title")
    places = triage.collection["location"].select("location_id", place=pl.coalesce("name", "location_id"))
    both = rows.join(titles, on="object_id", how="left", maintain_order="left")
    return both.join(places, on="location_id", how="left", maintain_order="left")


def _hours(triage: Triage) -> pl.DataFrame:
    """object_id and hours [h] of its accepted option, else of the open one with fewest likely hours."""
    agreed = pl.col("status").is_in(vocabulary("option_status").terms_where("agreed"))
    options = waiting_options(triage).drop_nulls("hours_likely").sort(~agreed, maintain_order=True)
    return options.group_by("object_id", maintain_order=True).agg(hours=pl.col("hours_likely").first())


def _reach(triage: Triage) -> pl.Expr:
    """Adding hours down the list: what lies within a year's, what comes after."""
    week = hours_a_week(triage)
    known = pl.col("hours").is_not_null()
    if week is None:
        return pl.when(known).then(pl.lit(NOT_SET)).otherwise(pl.lit(NO_HOURS))
    inside = pl.col("hours").fill_null(0).cum_sum() <= week * WEEKS_A_YEAR
    return pl.when(~known).then(pl.lit(NO_HOURS)).when(inside).then(pl.lit(REACHED)).otherwise(pl.lit(LATER))
