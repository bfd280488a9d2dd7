"""Today's grades carried on some years by the decline that is left after allowing for who looked."""

from itertools import takewhile

import numpy as np
import polars as pl

from collection.frames import returns
from collection.questions.estimate import Estimate, estimate, refused
from collection.questions.over_time import OverTime
from collection.trends.decline import chances
from collection.trends.examiners import Decline, Figure, Refused
from collection.trends.projection import Array, project
from schemas.vocabularies import vocabulary

GRADES_AHEAD = pl.Schema(
    {"label": pl.String, "now": pl.Int64, "ahead": pl.Float64, "ahead_low": pl.Float64, "ahead_high": pl.Float64}
)
METHOD = "today's grades times yearly chances of the hidden decline; limits with all rates at their low or high limits"
c = pl.col


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


def sentence(its: OverTime) -> str:
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


def estimates_of(its: OverTime) -> list[dict[str, Estimate | str]]:
    """Objects of each grade or worse some years ahead, for programs."""
    rates = _rates(its)
    if isinstance(rates, str):
        return [{"grade_or_worse": "", "objects": refused(rates, method=METHOD)}]
    return [
        {"grade_or_worse": r["label"],
         "objects": estimate(r["ahead"], r["ahead_low"], r["ahead_high"], r["now"], METHOD)}
        for r in grades_ahead(its).iter_rows(named=True)
    ]  # fmt: skip
