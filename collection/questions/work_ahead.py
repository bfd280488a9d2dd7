"""Work waiting over the years: what was done, what is to come in, and when it starts to shrink under three budgets."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import polars as pl

from collection.frames import returns
from collection.learning.histories import at_rest, histories
from collection.learning.learned import ACTIVATION, JEFFREYS
from collection.learning.new_damage import new_damage
from collection.plan.backlog import SOURCES, inflow, inflow_draws, shrinks, waiting
from collection.plan.parameters import planning
from collection.planning.options import plan_hours
from collection.questions.backlog import WEEKS_A_YEAR, backlog, hours_a_week
from collection.questions.triage import Triage
from collection.questions.words import count
from schemas.vocabularies import vocabulary

# hours: of treatments finished in the year. decided: decisions of the year to treat an object.
PAST = pl.Schema({"year": pl.Int32, "treatments": pl.UInt32, "hours": pl.Float64, "decided": pl.UInt32})
# Hours waiting at the end of each year under a budget of so many hours a year, and their limits.
AHEAD = pl.Schema(
    {"budget": pl.String, "year": pl.Int32} | dict.fromkeys(("hours_a_year", "waiting", "low", "high"), pl.Float64)
)
NONE, NOW, TWICE = "no hours", "the hours on record", "twice the hours"
PERCENT = 100  # draws that are told of
BUDGETS = {NONE: 0, NOW: 1, TWICE: 2}  # times the hours there are
Array = npt.NDArray[np.float64]
c = pl.col


@dataclass(frozen=True)
class Ahead:
    """What comes in a year: jobs, hours [h] and draws of these (draws x years); hours that wait and that are done."""

    jobs: float
    hours: float
    coming: Array
    waits: float
    done_a_year: float


def ahead(triage: Triage) -> Ahead | None:
    """What is to come of the whole collection; None where no hours are on record, or nobody checked anything twice."""
    figures, known = planning(), triage.collection
    job_hours = plan_hours(known, figures).group_by("option_id").agg(c("hours").sum())["hours"]
    there_are = hours_there_are(triage)
    its = sources(triage)
    if job_hours.len() < 2 or there_are is None or its.is_empty():
        return None
    mean, sd = float(np.mean(job_hours.to_numpy())), float(np.std(job_hours.to_numpy(), ddof=1))
    comes = inflow(its, mean, sd)
    coming = inflow_draws(its, mean, sd, figures.backlog_years, figures)
    waits = float(backlog(triage, triage.objects)["hours_likely"].sum())
    return Ahead(comes.jobs, comes.hours, coming, waits, there_are)


@returns(SOURCES)
def sources(triage: Triage) -> pl.DataFrame:
    """What turns into work, schema SOURCES: damage at rest and repairs at rest that begin to move, and new damage; each
    counted in the museum's own checks, and taken as often for a job as its proposals were for such events.
    """
    known, checks = triage.collection, triage.risk.checks
    moving = at_rest(histories(known, checks, triage.rates), ACTIVATION)
    counted = moving.group_by("source").agg(events=c(ACTIVATION).sum(), years=c("exposure_years").sum())
    resting = triage.risk.hazards.join(triage.rates.rows.select("rate_row", "at_rest"), on="rate_row")
    exposed = resting.filter("at_rest").group_by("source").agg(exposure=c("hazard_id").n_unique())
    fresh = new_damage(known, checks).filter(~c("handled"))
    rows = [*counted.join(exposed, on="source").select("exposure", "events", "years").iter_rows()]
    rows.append((triage.here, int(fresh["events"].sum()), float(fresh["exposure_years"].sum())))
    watched = [(exposure, events, years) for exposure, events, years in rows if years > 0]
    events = sum(events for _, events, _ in watched)
    share = min(1.0, known["option"].drop_nulls("object_id").height / events) if events else 1.0
    figures = [
        (exposure * share, (JEFFREYS + events) / years, JEFFREYS + events, years) for exposure, events, years in watched
    ]
    return pl.DataFrame(figures, schema=SOURCES, orient="row")


def hours_there_are(triage: Triage) -> float | None:
    """Hours a year [h] for treatments: those of the next year for their skills, else those set for a week; None where
    neither is on record.
    """
    skills = triage.collection["option"].drop_nulls("object_id")["skill"].drop_nulls().unique()
    mine = triage.collection["year_hours"].filter(
        c("year") == triage.as_of.year + 1, c("skill").is_in(skills.implode())
    )
    week = hours_a_week(triage)
    return float(mine["hours"].sum()) if mine.height else week and week * WEEKS_A_YEAR


@returns(PAST)
def past(triage: Triage, chosen: pl.DataFrame) -> pl.DataFrame:
    """Treatments finished and decisions to treat among the chosen objects, by year, schema PAST."""
    known, to_treat = triage.collection, list(vocabulary("choice").terms_where("to_treat"))
    mine = c("object_id").is_in(chosen["object_id"].implode())
    done = known["treatment"].filter(mine).drop_nulls("finished_on").group_by(year=c("finished_on").dt.year()).agg(
        treatments=pl.len(), hours=c("hours").sum()
    )  # fmt: skip
    decided = known["decision"].filter(mine, c("choice").is_in(to_treat)).group_by(year=c("decided_on").dt.year()).agg(
        decided=pl.len()
    )  # fmt: skip
    both = done.join(decided, on="year", how="full", coalesce=True).with_columns(
        c("treatments", "hours", "decided").fill_null(0)
    )  # fmt: skip
    return both.select(c(n).cast(t) for n, t in PAST.items()).sort("year")


@returns(AHEAD)
def waiting_ahead(triage: Triage, its: Ahead) -> pl.DataFrame:
    """Hours waiting at the end of each year to come, under three budgets, schema AHEAD; the first year is this one."""
    each = []
    for name, times in BUDGETS.items():
        done = times * its.done_a_year
        rows = waiting(its.waits, its.coming, done).with_columns(
            c("year") + triage.as_of.year, budget=pl.lit(name), hours_a_year=pl.lit(float(done)), waiting=c("mean")
        )
        each.append(rows.select(c(n).cast(t) for n, t in AHEAD.items()))
    return pl.concat(each)


def inflow_sentence(its: Ahead) -> str:
    """*About 18 jobs and 107 hours of work come in a year, judged by what the museum's own checks saw.*"""
    jobs = count(round(its.jobs), "job")
    return (
        f"About {jobs} and {its.hours:,.0f} hours of work come in a year, judged by what the museum's own checks saw"
        " begin and by how often it proposed a treatment for such things."
    )


def shrinks_sentence(triage: Triage, its: Ahead) -> str:
    """*With no hours it does not shrink within 10 years; with 130 hours a year, as now, it starts to shrink in 2027 (in
    84 of 100 draws); with 260, twice the hours, in 2027.*
    """
    each = "; ".join(_shrinks_words(triage, its, name, times) for name, times in BUDGETS.items())
    return f"{each[:1].upper()}{each[1:]}."


def _shrinks_words(triage: Triage, its: Ahead, name: str, times: int) -> str:
    done = times * its.done_a_year
    budget = name if not times else f"{name}, {done:,.0f} a year,"
    when = shrinks(its.coming, done)
    if when.year is None:
        return f"with {budget} it does not shrink within {count(its.coming.shape[1], 'year')}"
    draws = f"in {round(when.agree * PERCENT)} of {PERCENT} draws"
    return f"with {budget} it starts to shrink in {triage.as_of.year + when.year} ({draws})"
