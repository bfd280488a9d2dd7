"""What really got worse, and what only looked so: grades over a span, who graded, and the share that declines."""

from dataclasses import dataclass
from datetime import date, timedelta

import polars as pl

from collection.questions.estimate import Estimate, estimate, refused
from collection.questions.triage import Triage
from collection.questions.words import count, day_in_words, two_figures
from collection.trends.examiners import Decline, Refused, examine
from collection.trends.grades import Change, change, matched
from collection.trends.parameters import Trends, trends
from collection.trends.visits import pairs, visits

c = pl.col


@dataclass(frozen=True)
class OverTime:
    """Grades between two days. matched_rows: object_id, grade, end_grade, treated; slack_days: how far from each day a
    grade may lie. visits, pairs: schemas VISITS, PAIRS, of the objects asked for within the span.
    """

    start: date
    end: date
    slack_days: int
    visits: pl.DataFrame
    pairs: pl.DataFrame
    matched_rows: pl.DataFrame
    raw: Change
    decline: Decline | Refused
    figures: Trends


def over_time(triage: Triage, chosen: pl.DataFrame, start: date | None = None, end: date | None = None) -> OverTime:
    """What became of the grades of the chosen objects; without days, between the first round and the last.

    chosen : rows of `Triage.objects`. A round is a survey, else a year, in which enough objects were graded.
    """
    figures = trends()
    rows = visits(triage.collection, triage.risk.checks).join(chosen.select("object_id"), on="object_id", how="semi")
    first, last, slack = _rounds(triage, rows, figures)
    asked = start is not None or end is not None
    start, end = start or first, end or last
    if asked:
        slack = min(figures.slack_days, max((end - start).days // 2, 0))
    near = timedelta(days=slack)
    within = rows.filter(c("seen_on").is_between(pl.lit(start - near), pl.lit(end + near)))
    its = pairs(within)
    return OverTime(start, end, slack, within, its, matched(within, start, end, slack), change(its, figures),
                    examine(within, figures), figures)  # fmt: skip


def _rounds(triage: Triage, rows: pl.DataFrame, figures: Trends) -> tuple[date, date, int]:
    """The middle days of the first and the last round, and how far the grades of either lie from it."""
    graded = rows.filter("thorough", c("grade").is_not_null())
    surveys = triage.collection["condition_check"].select("check_id", "survey_id")
    named = graded.join(surveys, on="check_id", how="left").with_columns(year=c("seen_on").dt.year().cast(pl.String))
    for name in ("survey_id", "year"):
        rounds = (
            named.drop_nulls(name).group_by(name)
            .agg(objects=c("object_id").n_unique(), middle=c("seen_on").median().cast(pl.Date),
                 least=c("seen_on").min(), most=c("seen_on").max())
            .filter(c("objects") >= figures.round_fewest).sort("middle")
        )  # fmt: skip
        if rounds.height > 1:
            ends = pl.concat([rounds.head(1), rounds.tail(1)])
            away = pl.max_horizontal(c("middle") - c("least"), c("most") - c("middle")).dt.total_days()
            slack = min(int(ends.select(away.max()).item()), (ends["middle"][1] - ends["middle"][0]).days // 2)
            return ends["middle"][0], ends["middle"][1], slack
    first = graded["seen_on"].min()
    return (first if isinstance(first, date) else triage.as_of), triage.as_of, figures.slack_days


def first_sentence(its: OverTime) -> str:
    """*Of the 312 objects graded in both, 41 are graded worse and 38 better; allowing for who looked, 6 % (4 to 9) a
    grade worse within five years.*
    """
    both = its.matched_rows
    if both.is_empty():
        return f"No object was graded about {day_in_words(its.start)} and again about {day_in_words(its.end)}."
    worse, better = (
        both.filter(its_way).height for its_way in (c("end_grade") > c("grade"), c("end_grade") < c("grade"))
    )
    are = "is" if worse == 1 else "are"
    head = f"Of the {count(both.height, 'object')} graded in both, {worse:,} {are} graded worse and {better:,} better"
    if isinstance(its.decline, Refused):
        return f"{head}; how much of that is who looked cannot be said: {its.decline.reason}."
    return f"{head}; allowing for who looked, {_share(its.decline)} a grade worse within {_years(its.decline.years)}."


def span_sentence(its: OverTime) -> str:
    """Which grades were matched, and what was left out of them."""
    treated = its.matched_rows.filter("treated").height
    within = f"grades within {its.slack_days:,} days of either day"
    left = f"; {count(treated, 'of them was', 'of them were')} treated between" if treated else ""
    return f"Graded in both: about {day_in_words(its.start)} and about {day_in_words(its.end)} ({within}){left}."


def raw_sentence(its: OverTime) -> str:
    """Worse per 100 object-years as written, beside what is left after allowing for who looked, with their ratio."""
    rate = its.raw.rate
    if rate.value is None:
        return f"Grades between two checks: {rate.refused}."
    limits = f"({two_figures(rate.low or 0)} to {two_figures(rate.high or 0)})"
    words = (
        f"As recorded, {its.raw.worse:,} of {count(its.raw.pairs, 'pair')} of comparable checks are worse, and"
        f" {its.raw.better:,} better without a treatment, which is disagreement: {two_figures(rate.value)} worse"
        f" per 100 object-years {limits}"
    )
    times = overstated(its)
    if times is None:
        return f"{words}."
    return f"{words}; that is {two_figures(times)} times what is left after allowing for who looked."


def overstated(its: OverTime) -> float | None:
    """Raw worsening over the model's, both a year; null where either is refused."""
    if isinstance(its.decline, Refused) or not its.raw.rate.value:
        return None
    yearly = 1 - (1 - its.decline.worse.value) ** (1 / its.decline.years)
    return its.raw.rate.value / 100 / yearly if yearly else None


def apart_sentence(its: OverTime) -> str:
    """*Left out of the pairs: 31 treated between, 12 looked closer.* Empty where none was."""
    counts = its.pairs["apart"].drop_nulls().value_counts(sort=True).sort("count", "apart", descending=[True, False])
    words = [f"{n:,} {name}" for name, n in counts.iter_rows()]
    return f"Not counted in these pairs: {', '.join(words)}." if words else ""


def estimates_of(its: OverTime) -> dict[str, Estimate]:
    """Every estimate of the grades, for programs."""
    rate, method = its.raw.rate, its.raw.rate.method
    if isinstance(its.decline, Refused):
        of_decline = refused(its.decline.reason, its.visits.filter("thorough", c("grade").is_not_null()).height)
    else:
        d = its.decline
        of_decline = estimate(d.worse.value, d.worse.low, d.worse.high, d.grades, d.method)
    raw = refused(rate.refused, rate.events, method) if rate.refused else estimate(
        rate.value, rate.low, rate.high, rate.events, method
    )  # fmt: skip
    return {"worse_per_100_object_years": raw, "a_grade_worse_within": of_decline}


def _share(its: Decline) -> str:
    """*6 % (4 to 9)*."""
    value, low, high = (two_figures(100 * x) for x in (its.worse.value, its.worse.low, its.worse.high))
    return f"{value} % ({low} to {high})"


def _years(years: float) -> str:
    numbers = ("", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
    whole = int(years)
    return f"{numbers[whole] if whole == years and whole < len(numbers) else f'{years:g}'} years"
