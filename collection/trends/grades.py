"""Grades over a span: who was graded at both ends, what changed, and how often it got worse, with exact limits."""

from dataclasses import dataclass
from datetime import date

import polars as pl

from collection.frames import returns
from collection.learning.limits import count_limits, share_limits
from collection.trends.parameters import Trends
from schemas.vocabularies import vocabulary

HUNDRED = 100.0  # object-years a rate is told by
TRANSITIONS = pl.Schema({"grade": pl.Int64, "end_grade": pl.Int64, "objects": pl.Int64, "of": pl.Int64})
c = pl.col


@dataclass(frozen=True)
class Rate:
    """Events per 100 object-years with limits; null with `refused` where nobody looked twice."""

    value: float | None
    low: float | None
    high: float | None
    events: int
    years: float
    refused: str | None = None
    method: str = "exact limits of a count (Garwood 1936)"


@dataclass(frozen=True)
class Change:
    """Pairs that were graded at both ends: how many are worse, the same, better; and worse per 100 object-years."""

    pairs: int
    worse: int
    same: int
    better: int
    rate: Rate


def rate_of(events: int, years: float, chance: float) -> Rate:
    """Events per 100 object-years; 4 in 22.997947 years at 0.95: 17.392857 (4.738968 to 44.532622)."""
    if years <= 0:
        return Rate(None, None, None, events, years, "nobody looked twice")
    low, high = count_limits(events, chance)
    return Rate(HUNDRED * events / years, HUNDRED * low / years, HUNDRED * high / years, events, years)


def change(rows: pl.DataFrame, figures: Trends) -> Change:
    """What became of the grades of comparable pairs, schema PAIRS. Better without a treatment is disagreement."""
    graded = rows.filter(c("apart").is_null(), c("grade").is_not_null(), c("end_grade").is_not_null())
    worse, better = (
        graded.filter(c("end_grade") > c("grade")).height,
        graded.filter(c("end_grade") < c("grade")).height,
    )
    same = graded.height - worse - better
    return Change(graded.height, worse, same, better, rate_of(worse, float(graded["years"].sum()), figures.limits))


def disagreements(rows: pl.DataFrame) -> pl.DataFrame:
    """Pairs graded better without a treatment between, schema PAIRS: never *healed*."""
    return rows.filter(c("apart").is_null(), c("end_grade") < c("grade"))


@returns(TRANSITIONS)
def transitions(rows: pl.DataFrame) -> pl.DataFrame:
    """Number of pairs by grade at the start and at the end, every cell, schema TRANSITIONS; `of`: all of the start."""
    grades = pl.DataFrame({"grade": range(len(vocabulary("grade").term))}, schema={"grade": pl.Int64})
    every = grades.join(grades.rename({"grade": "end_grade"}), how="cross")
    graded = rows.filter(c("apart").is_null(), c("grade").is_not_null(), c("end_grade").is_not_null())
    counted = graded.group_by("grade", "end_grade").agg(objects=pl.len().cast(pl.Int64))
    filled = every.join(counted, on=["grade", "end_grade"], how="left").with_columns(c("objects").fill_null(0))
    return filled.with_columns(of=c("objects").sum().over("grade")).select(*TRANSITIONS).sort("grade", "end_grade")


def worse_share(table: pl.DataFrame, grade: int, figures: Trends) -> tuple[float, float, float] | None:
    """Share of the pairs that began at a grade and ended worse, with exact limits; null for a row without pairs."""
    row = table.filter(c("grade") == grade)
    of, worse = int(row["objects"].sum()), int(row.filter(c("end_grade") > grade)["objects"].sum())
    return None if not of else (worse / of, *share_limits(worse, of, figures.limits))


def matched(rows: pl.DataFrame, start: date, end: date, slack_days: int) -> pl.DataFrame:
    """Objects graded about both days: object_id, grade, end_grade, treated between; `rows`: schema VISITS.

    Of each object the thorough graded visit nearest to each day, no further from it than `slack_days`.
    """
    graded = rows.filter(c("thorough"), c("grade").is_not_null())

    def nearest(day: date) -> pl.DataFrame:
        away = (c("seen_on") - pl.lit(day)).dt.total_days().abs()
        near = graded.with_columns(away=away).filter(c("away") <= slack_days).sort("away", "seen_on", "check_id")
        return near.unique("object_id", keep="first", maintain_order=True)

    first, last = nearest(start), nearest(end)
    both = first.join(last, on="object_id", suffix="_end").filter(c("check_id") != c("check_id_end"))
    return both.select(
        "object_id", "grade", end_grade="grade_end", treated=c("treated_end") > c("treated")
    ).sort("object_id")  # fmt: skip
