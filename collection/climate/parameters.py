"""Figures of method by which readings are judged, all judgement (trends.toml), checked on load."""

from typing import Annotated

from pydantic import Field

from collection.risk.parameters import Fraction, Positive, Strict, read

Count = Annotated[int, Field(gt=0)]


class Readings(Strict):
    """What makes a reading faulty, and how much has to be measured.

    stuck_hours [h]; jump_c, coldest_c, hottest_c [°C]; jump_rh, seasonal_least [%]; seasonal_days [day].
    """

    days_fewest: Count
    stuck_hours: Positive
    stuck_readings: Count
    jump_c: Positive
    jump_rh: Positive
    jump_steps: Count
    gap_times: Positive
    coldest_c: float
    hottest_c: float
    seasonal_months: Count
    seasonal_days: Count
    seasonal_gaps: Fraction
    seasonal_percentiles: tuple[Positive, Positive]
    seasonal_least: Positive
    suits_from: Fraction
    listed_objects: Count
    beyond_days_least: Positive
    spells_listed: Count
    nearly_all: Fraction
    spell_days_apart: Count


def readings() -> Readings:
    """The figures of trends.toml; raises VocabularyError for a wrong one."""
    return read(Readings, "trends", "climate")
