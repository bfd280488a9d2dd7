"""Shape of the lines by which travel is judged (lines.toml), and of the words for it (travel.toml)."""

from collections.abc import Mapping
from typing import Literal

from collection.risk.parameters import Positive, Strict, read
from schemas.terms import Status


class Travel(Strict):
    """Months, journeys and masses by which it is judged whether an object may travel."""

    inspected_within_months: int
    conditions_within_months: int
    journeys_most: int
    journeys_months: int
    heavy_g: Positive


class RuleWords(Strict):
    """What would make an object fit after one rule spoke; `hours_of` says where the hours for it are looked up."""

    fit_when: str
    hours_of: Literal["option", "inspection", "nobody"]


class TravelWords(Strict):
    """Words of the verdicts, of the quantities agreed and whether they fit, and of what each rule asks for."""

    status: Status
    source: str
    verdict: Mapping[str, str]
    quantity: Mapping[str, str]
    fits: Mapping[str, str]
    rule: Mapping[str, RuleWords]


def travel_words() -> TravelWords:
    """The words of travel.toml."""
    return read(TravelWords, "travel")
