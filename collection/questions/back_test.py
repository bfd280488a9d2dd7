"""What was expected beside what was found, in words and as frames for pictures."""

import polars as pl

from collection.frames import returns
from collection.learning.back_test import STARTING, BackTest, Judged
from collection.learning.scores import CALIBRATION
from collection.questions.words import count, day_in_words, percent, two_figures
from collection.risk.rate_rows import LEARNED

EXPECTED_SEEN = pl.Schema({"label": pl.String} | dict.fromkeys(("lost_share", "lost_least", "lost_most"), pl.Float64))
GROUPS = pl.Schema([("by", pl.String()), *CALIBRATION.items()])
SCORES = pl.Schema(
    {"by": pl.String, "forecasts": pl.Int64, "objects": pl.Int64, "expected": pl.Float64, "events": pl.Int64}
    | dict.fromkeys(("brier", "reference", "skill", "skill_low", "skill_high", "best_skill"), pl.Float64)
)
BY = {STARTING: "the starting values alone", LEARNED: "what was learned before"}
NUMBERS = ("", "One", "Two", "Three", "Four", "Five", "Six", "Seven", "Eight", "Nine", "Ten")
NOT_BY_CHANCE = "Objects checked again are not a random choice."
TOO_FEW = "too few events to judge"


def storeroom_sentence(test: BackTest) -> str:
    """*Five years ago this register expected about 0.11 % of the collection's value to be lost by now (0.03 to 0.24);
    its checks found about 0.004 %.*
    """
    if not test.objects:
        return f"No object was checked both before and after {day_in_words(test.cut)}: nothing can be compared yet."
    expected = test.judged[STARTING].expected
    limits = f"({_share(expected.low)} to {_share(expected.high)} %)"
    seen = percent(test.seen_loss) if test.seen_loss else "nothing"
    words = f"{_ago(test)} this register expected {percent(expected.loss)} of the collection's value to be lost by now"
    both = f"in {count(test.objects, 'object')} checked before and since"
    return f"{words} {limits}; its checks found {seen}, {both}."


def unmeasured_sentence(test: BackTest) -> str:
    """That some of what was found has no size; empty where all has."""
    if not test.unmeasured:
        return ""
    places = count(test.unmeasured, "place")
    return f"In {places} something happened and nobody recorded how much: there the checks found more than this says."


def score_sentence(judged: Judged, by: str) -> str:
    """What was expected, what happened, and how much better than one rate for all the forecasts were."""
    score = judged.score
    lost = f"{_about(score.expected)} of {score.forecasts:,} were expected to lose something, {score.events:,} did"
    head = f"By {BY[by]}: {lost}"
    if not score.judged:
        return f"{head}; {TOO_FEW}."
    if score.skill is None or score.skill_low is None or score.skill_high is None:
        return f"{head}."
    better = "better" if score.skill > 0 else "worse"
    error = f"the error of the forecasts was {abs(score.skill):.0%} {better} than with one rate for all"
    limits = (
        f"(between {_signed(score.skill_low)} and {_signed(score.skill_high)}; at best {score.best_skill:.0%} better)"
    )
    return f"{head}; {error} {limits}.".replace("%", " %")


@returns(EXPECTED_SEEN)
def expected_and_seen(test: BackTest) -> pl.DataFrame:
    """Share of the collection's value expected, with limits, by each way to take the rates, and seen by the checks."""
    rows = [
        {
            "label": f"expected by {BY[by]}",
            "lost_share": its.expected.loss,
            "lost_least": its.expected.low,
            "lost_most": its.expected.high,
        }
        for by, its in test.judged.items()
    ]
    seen = {
        "label": "found by the checks",
        "lost_share": test.seen_loss,
        "lost_least": test.seen_loss,
        "lost_most": test.seen_loss,
    }
    return pl.DataFrame([*rows, seen], schema=EXPECTED_SEEN)


@returns(GROUPS)
def calibration_groups(test: BackTest) -> pl.DataFrame:
    """Groups of forecasts with what happened in them, schema GROUPS; none of a way with too few expected events."""
    parts = [
        its.calibration.with_columns(by=pl.lit(BY[by])).select(*GROUPS)
        for by, its in test.judged.items()
        if its.score.judged
    ]
    return pl.concat([pl.DataFrame(schema=GROUPS), *parts])


@returns(SCORES)
def scores(test: BackTest) -> pl.DataFrame:
    """One row for each way to take the rates, schema SCORES; empty cells: too few events to judge."""
    rows = [
        {"by": BY[by]} | {name: getattr(its.score, name) for name in SCORES if name != "by"}
        for by, its in test.judged.items()
    ]
    return pl.DataFrame(rows, schema=SCORES)


def _ago(test: BackTest) -> str:
    years = test.until.year - test.cut.year
    name = NUMBERS[years] if 0 < years < len(NUMBERS) else str(years)
    return f"{name} {'year' if years == 1 else 'years'} ago"


def _share(value: float) -> str:
    return two_figures(value * 100) or "0"


def _about(expected: float) -> str:
    return f"about {expected:,.0f}" if expected >= 1 else "fewer than one"


def _signed(skill: float) -> str:
    return f"{abs(skill):.0%} {'better' if skill > 0 else 'worse'}"
