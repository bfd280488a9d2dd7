"""Figures of method by which trends are told, all judgement (trends.toml), checked on load."""

from typing import Annotated

from pydantic import Field

from collection.risk.parameters import Fraction, Positive, Strict, read

Count = Annotated[int, Field(gt=0)]


class Trends(Strict):
    """From how much evidence a trend is told.

    limits, rate_limits: chance the limits of counts and of rates hold. cell_years [object-years]; years_ahead [year];
    strictness_sd, log_noise_mean, log_noise_sd: priors of the model of examiners [grades].
    """

    limits: Fraction
    rate_limits: Fraction
    cell_years: Positive
    holm: Fraction
    grades_fewest: Count
    grades_an_object: Positive
    links: Count
    examiner_grades: Count
    headline_within: Positive
    steps_within: Positive
    years_ahead: Positive
    repairs_fewest: Count
    failures_fewest: Count
    slack_days: Count
    round_fewest: Count
    line_fewest: Count
    repeats_fewest: Count
    observed_fewest: Count
    resamples: Count
    curvature_least: Positive
    log_noise_mean: float
    log_noise_sd: Positive
    strictness_sd: Positive
    start_counts: Positive
    others: str


def trends() -> Trends:
    """The figures of trends.toml; raises VocabularyError for a wrong one."""
    return read(Trends, "trends", "trends")
