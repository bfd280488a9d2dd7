"""The list a person works down: what needs attention now first, then the rest by rank, and how far the hours go."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import polars as pl

from collection.frames import returns
from collection.questions.backlog import WEEKS_A_YEAR, hours_a_week, waiting_options
from collection.questions.triage import Triage
from collection.questions.words import need_words, risk_words
from schemas.vocabularies import vocabulary

RANKED = pl.Schema(
    {"line": pl.UInt32()}
    | {
        n: pl.String()
        for n in ("object_id", "title", "attention", "label", "risk", "reasons", "first_step", "place", "location_id")
    }
    | {"hours": pl.Float64(), "reach": pl.String(), "last_checked_on": pl.Date()}
)
REACHED, LATER, NO_HOURS = "within the year's hours", "after them", "no hours known"
NOT_SET = "hours a week are not set"


@dataclass(frozen=True)
class Reach:
    """How far a year's hours go among the objects that need attention now. None where hours are not set."""

    hours_a_week: float | None
    reached: int
    with_hours: int
    without: int


@returns(RANKED)
def ranking(triage: Triage, chosen: pl.DataFrame) -> pl.DataFrame:
    """Schema RANKED: the chosen objects in the one order, with words. hours [h]; `reach` follows the hours down."""
    full = triage.with_reasons(chosen).with_row_index("line", offset=1)
    full = _with_names(triage, full).join(_fewest_hours(triage), on="object_id", how="left", maintain_order="left")
    worded = full.with_columns(
        risk=pl.Series([risk_words(row) for row in full.iter_rows(named=True)], dtype=pl.String),
        reasons=pl.col("reasons").list.join("; "),
        label=pl.col("attention").replace_strict(vocabulary("attention").labels(), return_dtype=pl.String),
        reach=_reach(triage),
    )
    return worded.select(pl.col(n).cast(t) for n, t in RANKED.items())


def reach(triage: Triage, listed: pl.DataFrame) -> Reach:
    """Of the listed objects that need attention now, how many a year's hours reach."""
    now = listed.filter(pl.col("attention").is_in(triage.now))
    known = now.filter(pl.col("hours").is_not_null())
    reached = known.filter(pl.col("reach") == REACHED).height
    return Reach(hours_a_week(triage), reached, known.height, now.height - known.height)


def answer(triage: Triage, listed: pl.DataFrame) -> str:
    """*31 objects need attention now, 12 to secure and 19 to move; at 3 hours a week you reach 24 within a year.*"""
    need = need_words(listed)
    got = reach(triage, listed)
    if not need:
        return "No object here needs attention now."
    if got.hours_a_week is None:
        return f"{need}; hours a week are not set, so how far they go is not known."
    if not got.with_hours:
        return f"{need}; none of them has an option with hours yet."
    which = "them" if not got.without else f"the {got.with_hours} whose hours are known"
    rest = f"; {got.without} {'has' if got.without == 1 else 'have'} no estimate yet" if got.without else ""
    week = f"{got.hours_a_week:g} {'hour' if got.hours_a_week == 1 else 'hours'}"
    return f"{need}; at {week} a week you reach {got.reached} of {which} within a year{rest}."


def by_class(listed: pl.DataFrame) -> Mapping[str, int]:
    """Class of attention to number of objects, in the order of the classes, zeros left out."""
    counts = dict(listed["attention"].value_counts().iter_rows())
    return {term: counts[term] for term in vocabulary("attention").term if term in counts}


def cut_sentence(triage: Triage, listed: pl.DataFrame) -> str:
    """*A year of 3 hours a week is 156 hours: it ends after object 1959.7.* What is not known is said."""
    week = hours_a_week(triage)
    if week is None:
        return "Hours a week are not set, so the list is not cut: set hours_a_week."
    inside = listed.filter(pl.col("reach") == REACHED)
    year = f"A year of {week:g} hours a week is {week * WEEKS_A_YEAR:g} hours"
    if inside.is_empty():
        return f"{year}; no object here has hours that fit into it."
    return f"{year}: down this list it ends after {inside['object_id'][-1]}. Objects without hours are not counted."


def one(triage: Triage, object_id: str) -> Mapping[str, Any]:
    """The row of one object, schema RANKED; its reach is not known, since it follows from the list."""
    return ranking(triage, triage.objects.filter(pl.col("object_id") == object_id)).row(0, named=True)


def _with_names(triage: Triage, rows: pl.DataFrame) -> pl.DataFrame:
    titles = triage.collection["object"].select("object_id", "title")
    places = triage.collection["location"].select("location_id", place=pl.coalesce("name", "location_id"))
    both = rows.join(titles, on="object_id", how="left", maintain_order="left")
    return both.join(places, on="location_id", how="left", maintain_order="left")


def _fewest_hours(triage: Triage) -> pl.DataFrame:
    """object_id and hours [h] of its open option with fewest likely hours."""
    options = waiting_options(triage).drop_nulls("hours_likely")
    return options.group_by("object_id", maintain_order=True).agg(hours=pl.col("hours_likely").first())


def _reach(triage: Triage) -> pl.Expr:
    """Adding hours down the list: what lies within a year's, what comes after."""
    week = hours_a_week(triage)
    known = pl.col("hours").is_not_null()
    if week is None:
        return pl.when(known).then(pl.lit(NOT_SET)).otherwise(pl.lit(NO_HOURS))
    inside = pl.col("hours").fill_null(0).cum_sum() <= week * WEEKS_A_YEAR
    return pl.when(~known).then(pl.lit(NO_HOURS)).when(inside).then(pl.lit(REACHED)).otherwise(pl.lit(LATER))
