"""Whether the people who grade agree, of a survey or of all checks, and on which objects they do not."""

from dataclasses import dataclass

import polars as pl

from collection.questions.triage import Triage
from collection.questions.words import count
from collection.surveys.agreement import Agreement, agreement, by_two, differences, graded_together
from collection.surveys.parameters import surveys
from collection.trends.parameters import trends
from collection.trends.visits import visits
from schemas.vocabularies import vocabulary

METHOD = "Krippendorff's alpha, ordinal"


@dataclass(frozen=True)
class Agreed:
    """its : the measure or why there is none. pairs : schema BY_TWO. apart : schema DIFFERENCES."""

    its: Agreement
    pairs: pl.DataFrame
    apart: pl.DataFrame


def agreed(triage: Triage, survey_id: str = "") -> Agreed:
    """Grades of objects that two people or more graded within some days; where one check names the survey, or all."""
    figures, grades = surveys(), list(vocabulary("grade").labels().values())
    graded = graded_together(visits(triage.collection, triage.risk.checks), figures.seen_within_days)
    if survey_id:
        mine = triage.collection["condition_check"].filter(pl.col("survey_id") == survey_id)
        graded = graded.join(graded.join(mine, on="check_id", how="semi"), on="occasion", how="semi")
    few = figures.agreement_objects
    its = agreement(graded, len(grades), few, trends().resamples, trends().rate_limits)
    return Agreed(its, by_two(graded, len(grades), few), differences(graded, grades))


def agreement_sentence(its: Agreement) -> str:
    """*3 people graded 41 objects twice or more within 30 days: alpha 0.72, to be relied on with caution.*"""
    figures = surveys()
    within = f"within {figures.seen_within_days:g} days"
    if not its.objects:
        return f"No object was graded by two people {within}: whether they agree is not known."
    head = f"{count(its.examiners, 'person', 'people')} graded {count(its.objects, 'object')} twice or more {within}"
    if its.alpha is None:
        return f"{head}: no measure of agreement, since {its.refused}."
    if its.alpha >= figures.reliable:
        reading = "their grades may be relied on"
    elif its.alpha >= figures.tentative:
        reading = "their grades may be relied on with caution"
    else:
        reading = "their grades differ too much to be compared"
    return f"{head}: agreement {its.alpha:.2f} of 1 ({its.low:.2f} to {its.high:.2f}; {METHOD}); {reading}."


def figure(its: Agreement) -> dict[str, object]:
    """The measure with its limits, n and method."""
    return {
        "value": its.alpha, "low": its.low, "high": its.high, "n": its.objects, "method": METHOD,
        "refused": its.refused, "examiners": its.examiners,
    }  # fmt: skip
