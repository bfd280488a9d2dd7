"""What came of each object of a survey, by its check or as written; how far the survey is, and when it ends."""

from dataclasses import dataclass
from datetime import date, timedelta

import polars as pl

from collection.frames import returns
from collection.learning.limits import count_limits
from schemas.terms import SurveyOutcome
from schemas.vocabularies import terms

UNITS = pl.Schema(
    dict.fromkeys(("unit_id", "stratum", "cluster"), pl.String)
    | dict.fromkeys(("chance", "cluster_chance"), pl.Float64)
    | {"draw_order": pl.Int64, "outcome": pl.String, "check_id": pl.String, "seen_on": pl.Date}
)
c = pl.col


@dataclass(frozen=True)
class Progress:
    """drawn: objects; done: looked at; waiting: nobody looked yet; the rest could not be looked at.

    ends, earliest, latest : when the last is looked at, at the pace so far and with limits of it; null where none waits
    or nobody began.
    """

    drawn: int
    done: int
    waiting: int
    ends: date | None
    earliest: date | None
    latest: date | None


@returns(UNITS)
def outcomes(units: pl.DataFrame, checks: pl.DataFrame) -> pl.DataFrame:
    """The units with what came of them, schema UNITS.

    units : rows of record `survey_unit` of one survey. checks : of that survey, object_id, check_id, visit, seen_on;
    the latest of an object counts, and goes before what was written.
    """
    by_visit = {its.visit: term for term, its in _terms().items() if its.visit}
    waiting = next(term for term, its in _terms().items() if its.waits)
    last = checks.sort("seen_on", "check_id").unique("object_id", keep="last")
    joined = units.drop("check_id", "seen_on", strict=False).join(
        last, left_on="unit_id", right_on="object_id", how="left"
    )
    looked_at = by_visit[next(iter(by_visit))]
    of_check = c("visit").replace_strict(by_visit, default=looked_at, return_dtype=pl.String)
    outcome = pl.when(c("check_id").is_not_null()).then(of_check).otherwise(c("outcome").fill_null(waiting))
    rows = joined.with_columns(outcome=outcome).sort("draw_order", "unit_id", nulls_last=True)
    return rows.select(c(n).cast(t) for n, t in UNITS.items())


def is_seen() -> pl.Expr:
    """Whether a unit was taken up or seen close: the first outcome that a check says."""
    return c("outcome") == next(term for term, its in _terms().items() if its.visit)


def is_waiting() -> pl.Expr:
    """Whether nobody looked at a unit yet."""
    return c("outcome") == next(term for term, its in _terms().items() if its.waits)


def progress(units: pl.DataFrame, starts_on: date | None, day: date, chance: float) -> Progress:
    """How far a survey is on a day, and when it ends at its pace; units: schema UNITS.

    The pace is the checks since its first day, or its first check; limits are exact ones of a count (Garwood 1936).
    """
    looked = units.drop_nulls("seen_on")
    waiting, done = units.filter(is_waiting()).height, units.filter(is_seen()).height
    first = looked["seen_on"].min() if starts_on is None else starts_on
    none = Progress(units.height, done, waiting, None, None, None)
    if not waiting or looked.is_empty() or not isinstance(first, date) or first > day:
        return none
    days = (day - first).days + 1
    slow, fast = count_limits(looked.height, chance)
    ends, earliest, latest = (
        day + timedelta(waiting * days / pace) if waiting * days / pace < LONGEST_DAYS else None
        for pace in (looked.height, fast, slow)
    )
    return Progress(units.height, done, waiting, ends, earliest, latest)


LONGEST_DAYS = 36_525  # a century: further off is never


def _terms() -> dict[str, SurveyOutcome]:
    return dict(terms("survey_outcome", SurveyOutcome))
