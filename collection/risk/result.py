"""What an assessment gives: the one value that triage, explain, plan and pages read."""

from dataclasses import dataclass
from datetime import date

import polars as pl


@dataclass(frozen=True)
class Risk:
    """Risk of the whole collection on one day.

    hazards : schema HAZARDS, in no order. objects : schema RISK, in rank order. looks : schema LOOKS.
    targets : schema OUTSIDE_TARGET.
    """

    as_of: date
    hazards: pl.DataFrame
    objects: pl.DataFrame
    looks: pl.DataFrame
    targets: pl.DataFrame
