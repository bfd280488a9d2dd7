"""Grades over time: then, now and some years ahead, and who grades how strictly."""

from collections.abc import Mapping
from datetime import date, timedelta
from itertools import takewhile
from typing import Any

import numpy as np
import polars as pl

from collection.frames import returns
from collection.questions.estimate import Estimate, estimate, refused
from collection.questions.over_time import OverTime
from collection.questions.words import two_figures
from collection.trends.examiners import Decline, Figure, Refused
from collection.trends.grades import transitions
from collection.trends.hidden_grades import Array, chances, project
from schemas.vocabularies import vocabulary

GRADE_MOVES = pl.Schema(
    dict.fromkeys(("grade_then", "grade_now"), pl.String)
    | {"objects": pl.Int64, "of": pl.Int64, "direction": pl.String}
)
BOTH_GRADES = pl.Schema(
    {"label": pl.String, "matched_then": pl.Int64, "matched_now": pl.Int64, "all_then": pl.Int64, "all_now": pl.Int64}
)
EXAMINERS = pl.Schema(
    {"examiner": pl.String, "strictness": pl.Float64, "strictness_low": pl.Float64, "strictness_high": pl.Float64}
    | {"noise": pl.Float64, "noise_low": pl.Float64, "noise_high": pl.Float64, "grades": pl.Int64, "what": pl.String}
)
WORSE, SAME, BETTER = "worse", "the same", "better"
STRICTER, MILDER, ALIKE, YARDSTICK = "stricter", "milder", "no difference shown", "the yardstick"
KNOWN_WEAKNESSES = (
    "A real setback while a mild examiner works alone is partly read as decline; grades copied from the check before"
    " make strict examiners seem milder than they are."
)
GRADES_AHEAD = pl.Schema(
    {"label": pl.String, "now": pl.Int64, "ahead": pl.Float64, "ahead_low": pl.Float64, "ahead_high": pl.Float64}
)
METHOD = "today's grades times yearly chances of the hidden decline; limits with all rates at their low or high limits"
c = pl.col


def examiners_sentence(its: OverTime) -> str:
    """Who grades how strictly, in the grades of whom, or why it cannot be told."""
    if isinstance(its.decline, Refused):
        return f"Who grades strictly cannot be told: {its.decline.reason}."
    rows = examiners(its)
    other = [_examiner_words(r) for r in rows.filter(c("what").is_in([STRICTER, MILDER])).iter_rows(named=True)]
    words = "; ".join(other) if other else "of nobody else can it be told that they grade otherwise"
    return f"Measured against the grades of {its.decline.yardstick}: {words}."


def _examiner_words(row: Mapping[str, Any]) -> str:
    """*Ada grades 0.66 grades worse (0.59 to 0.73)*."""
    low, high = sorted(abs(row[n]) for n in ("strictness_low", "strictness_high"))
    size, way = two_figures(abs(row["strictness"])), "worse" if row["what"] == STRICTER else "better"
    return f"{row['examiner']} grades {size} of a grade {way} ({two_figures(low)} to {two_figures(high)})"


@returns(GRADE_MOVES)
def grade_moves(its: OverTime) -> pl.DataFrame:
    """Matched objects by grade then and now, every cell, schema GRADE_MOVES; `of`: all of the grade then."""
    apart = its.matched_rows.with_columns(apart=pl.lit(None, pl.String))
    labels = list(vocabulary("grade").labels().values())
    numbers = dict(enumerate(labels))
    worse, better = c("end_grade") > c("grade"), c("end_grade") < c("grade")
    way = pl.when(worse).then(pl.lit(WORSE)).when(better).then(pl.lit(BETTER)).otherwise(pl.lit(SAME))
    named = transitions(apart).with_columns(
        direction=way,
        grade_then=c("grade").replace_strict(numbers, return_dtype=pl.String),
        grade_now=c("end_grade").replace_strict(numbers, return_dtype=pl.String),
    )
    return named.select(*GRADE_MOVES)


@returns(BOTH_GRADES)
def both_grades(its: OverTime) -> pl.DataFrame:
    """Objects of each grade at both ends: those graded in both, beside all that were graded at each, BOTH_GRADES."""
    near = timedelta(days=its.slack_days)

    def at(day: date) -> pl.DataFrame:
        seen = its.visits.filter("thorough", c("grade").is_not_null(), c("seen_on").is_between(day - near, day + near))
        return seen.sort((c("seen_on") - pl.lit(day)).abs(), "check_id").unique("object_id", keep="first")

    counts = {
        "matched_then": its.matched_rows["grade"], "matched_now": its.matched_rows["end_grade"],
        "all_then": at(its.start)["grade"], "all_now": at(its.end)["grade"],
    }  # fmt: skip
    labels = list(vocabulary("grade").labels().values())
    columns = {name: [int(grades.eq(place).sum()) for place in range(len(labels))] for name, grades in counts.items()}
    return pl.DataFrame({"label": labels, **columns}, schema=BOTH_GRADES)


@returns(EXAMINERS)
def examiners(its: OverTime) -> pl.DataFrame:
    """Strictness and noise of each examiner with limits [grades], schema EXAMINERS; none where the model is refused."""
    if isinstance(its.decline, Refused):
        return pl.DataFrame(schema=EXAMINERS)
    rows = [
        (p.name, p.strictness.value, p.strictness.low, p.strictness.high, p.noise.value, p.noise.low, p.noise.high,
         p.grades, YARDSTICK if p.name == its.decline.yardstick else None)
        for p in its.decline.examiners
    ]  # fmt: skip
    frame = pl.DataFrame(rows, schema=EXAMINERS, orient="row")
    stricter, milder = c("strictness_low") > 0, c("strictness_high") < 0
    other = pl.when(stricter).then(pl.lit(STRICTER)).when(milder).then(pl.lit(MILDER)).otherwise(pl.lit(ALIKE))
    named = frame.with_columns(what=c("what").fill_null(other))
    return named.sort("strictness", "examiner", descending=[True, False])


def examiner_estimates(its: OverTime) -> list[dict[str, object]]:
    """Strictness and noise of each examiner for programs; one refusal where the model says nothing."""
    if isinstance(its.decline, Refused):
        return [{"examiner": None, "strictness": refused(its.decline.reason)}]
    method = its.decline.method
    return [
        {"examiner": r["examiner"], "what": r["what"],
         "strictness": estimate(r["strictness"], r["strictness_low"], r["strictness_high"], r["grades"], method),
         "noise": estimate(r["noise"], r["noise_low"], r["noise_high"], r["grades"], method)}
        for r in examiners(its).iter_rows(named=True)
    ]  # fmt: skip


@returns(GRADES_AHEAD)
def grades_ahead(its: OverTime) -> pl.DataFrame:
    """Objects of each grade or a worse one, now and some years ahead with limits, schema GRADES_AHEAD, worst first.

    Empty where the decline cannot be told. Grades beyond a step that cannot be told count with the one before it. The
    grades are as they were last written; nothing is treated meanwhile.
    """
    rates = _rates(its)
    if isinstance(rates, str) or isinstance(its.decline, Refused):
        return pl.DataFrame(schema=GRADES_AHEAD)
    labels = list(vocabulary("grade").labels().values())[its.decline.first_grade :][: len(rates) + 1]
    last = its.visits.filter("thorough", c("grade").is_not_null()).group_by("object_id").agg(c("grade").last())
    given = (last["grade"] - its.decline.first_grade).clip(0, len(rates)).to_numpy()
    mix = np.bincount(given, minlength=len(labels)).astype(np.float64)
    ahead = [_at_least(_carried(mix, rates, end, its.decline.years)) for end in ("value", "low", "high")]
    rows = {"label": labels, "now": _at_least(mix).astype(np.int64), "ahead": ahead[0], "ahead_low": ahead[1],
            "ahead_high": ahead[2]}  # fmt: skip
    return pl.DataFrame(rows, schema=GRADES_AHEAD)[1:].reverse()


def _carried(mix: Array, rates: list[Figure], end: str, years: float) -> Array:
    yearly = chances(np.array([getattr(rate, end) for rate in rates]), np.array([1.0]))[0]
    return project(mix, yearly, round(years))


def _at_least(mix: Array) -> Array:
    """Of each grade and all worse ones: they are more the faster every step is, so limits of the rates are limits."""
    return np.asarray(mix[::-1].cumsum()[::-1])


def _rates(its: OverTime) -> list[Figure] | str:
    """The rates out of the best grades as far as they are known, or why there are none."""
    if isinstance(its.decline, Refused):
        return its.decline.reason
    known = list(takewhile(lambda rate: rate is not None, its.decline.rates))
    return [rate for rate in known if rate] or "too few to tell the steps from grade to grade apart"


def ahead_sentence(its: OverTime) -> str:
    """*If nothing is done, 190 (180 to 201) objects are fair or worse in five years; 160 are now.* Or why not."""
    rates = _rates(its)
    if isinstance(rates, str) or not isinstance(its.decline, Decline):
        return f"How many objects have which grade some years ahead cannot be said: {rates}."
    rows = grades_ahead(its)
    row = rows.row(-1, named=True)
    return (
        f"If nothing is done, about {row['ahead']:,.0f} ({row['ahead_low']:,.0f} to {row['ahead_high']:,.0f}) of"
        f" {its.visits['object_id'].n_unique():,} objects are graded {row['label'].lower()} or worse in"
        f" {its.decline.years:g} years, {row['now']:,} now."
    )


def ahead_estimates(its: OverTime) -> list[dict[str, Estimate | str]]:
    """Objects of each grade or worse some years ahead, for programs."""
    rates = _rates(its)
    if isinstance(rates, str):
        return [{"grade_or_worse": "", "objects": refused(rates, method=METHOD)}]
    return [
        {"grade_or_worse": r["label"],
         "objects": estimate(r["ahead"], r["ahead_low"], r["ahead_high"], r["now"], METHOD)}
        for r in grades_ahead(its).iter_rows(named=True)
    ]  # fmt: skip
