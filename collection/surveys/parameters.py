"""Figures of surveys, from trends.toml: judgement, which a museum replaces."""

from typing import Annotated

from pydantic import Field

from collection.risk.parameters import Fraction, Positive, Strict, read

Count = Annotated[int, Field(gt=0)]


class Surveys(Strict):
    """confidence, pace_limits: chances with which limits hold. margin: of a share. *_from: fewest of a group."""

    confidence: Fraction
    margin: Fraction
    pace_limits: Fraction
    in_a_cluster: Count
    minutes_from: Count
    share_from: Count
    seen_within_days: Positive
    agreement_objects: Count
    reliable: Fraction
    tentative: Fraction


def surveys() -> Surveys:
    """The figures; raises VocabularyError for a wrong one."""
    return read(Surveys, "trends", "survey")
