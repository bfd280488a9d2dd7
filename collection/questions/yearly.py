"""What changed in a year, in measures that mean the same on both days."""

from collections.abc import Callable
from datetime import date

import polars as pl

from collection.frames import returns
from collection.questions.triage import Triage
from schemas.vocabularies import vocabulary

YEARLY = pl.Schema(dict.fromkeys(("measure", "then", "now"), pl.String()))
c = pl.col
Measure = Callable[[Triage], str]


@returns(YEARLY)
def yearly(now: Triage, then: Triage | None) -> pl.DataFrame:
    """One row a measure, schema YEARLY, in words; `then` is empty where nothing was known a year before."""
    rows = [(name, None if then is None else of(then), of(now)) for name, of in MEASURES.items()]
    return pl.DataFrame(rows, schema=YEARLY, orient="row")


def _checked(triage: Triage) -> str:
    coverage = triage.coverage()
    return f"{coverage['checked']:,} of {coverage['objects']:,}"


def _urgent(triage: Triage) -> str:
    return f"{triage.objects.filter(c('attention').is_in(triage.now)).height:,}"


def _checked_in_year(triage: Triage) -> str:
    checks = triage.risk.checks.filter(c("seen_on") > _year_before(triage.as_of))
    return f"{checks['object_id'].n_unique():,}"


def _treated(triage: Triage) -> str:
    done = triage.collection["treatment"].filter(
        c("finished_on") > _year_before(triage.as_of), c("finished_on") <= triage.as_of
    )
    return f"{done.height:,}"


def _spoilt(triage: Triage) -> str:
    """Old repairs that let go, no longer work or do harm, at their last check."""
    states = vocabulary("stability").terms_where("spoils")
    hazards = triage.risk.hazards.filter(c("hazard_id").str.starts_with("repair:"), c("state").is_in(states))
    return f"{hazards['hazard_id'].n_unique():,}"


def _moving(triage: Triage) -> str:
    states = vocabulary("activity").terms_where("moving")
    hazards = triage.risk.hazards.filter(c("hazard_id").str.starts_with("damage:"), c("state").is_in(states))
    return f"{hazards['object_id'].n_unique():,}"


def _year_before(day: date) -> date:
    return date(day.year - 1, day.month, min(day.day, SHORTEST_MONTH))


SHORTEST_MONTH = 28
MEASURES: dict[str, Measure] = {
    "objects ever checked": _checked,
    "objects checked in the year": _checked_in_year,
    "objects that need attention now": _urgent,
    "objects with damage that moves": _moving,
    "old repairs that let go or do harm": _spoilt,
    "treatments finished in the year": _treated,
}
