"""Shape of the lines by which travel is judged (lines.toml)."""

from collection.risk.parameters import Positive, Strict


class Travel(Strict):
    """Months, journeys and masses by which it is judged whether an object may travel."""

    inspected_within_months: int
    conditions_within_months: int
    journeys_most: int
    journeys_months: int
    heavy_g: Positive
