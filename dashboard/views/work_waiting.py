"""Work that waits: hours of proposals, by class of attention; what was done, and what is to come."""

import polars as pl

from collection.questions import backlog, work_ahead
from collection.questions.selection import Selection
from collection.questions.triage import Triage
from dashboard import charts, data, filters
from dashboard.views import parts


def to_come(triage: Triage) -> None:
    """What is done and what comes in, of the whole collection: when the work waiting starts to shrink."""
    parts.section("The years to come")
    if filters.asked() != Selection():
        parts.say("Hours are for the whole collection: what is to come stands here where no filter is set.")
        return
    its = data.work_ahead()
    if its is None:
        parts.say(
            "What is to come is not known: that takes hours of proposals, hours a year, and objects checked twice."
        )
        return
    parts.say(work_ahead.shrinks_sentence(triage, its))
    parts.say(work_ahead.inflow_sentence(its))
    parts.picture(
        "ahead",
        charts.ahead_chart,
        work_ahead.waiting_ahead(triage, its),
        alt="Hours waiting at the end of each year to come, under three budgets, with limits",
        caption="The whole collection. Nine in ten of the draws lie within the shaded limits; jobs are taken to be as"
        " long as those proposed so far.",
    )


def done(triage: Triage, rows: pl.DataFrame) -> None:
    """What was done in the years before."""
    frame = work_ahead.past(triage, rows)
    if frame.is_empty():
        return
    parts.section("The years before")
    parts.picture(
        "before",
        charts.past_chart,
        frame,
        alt="Hours of treatments finished in each year",
        caption=f"Treatments and decisions on record, {parts.as_of(data.state())}.",
    )


state = data.state()
triage = state.triage
rows = filters.chosen(triage)
by_class = backlog.backlog(triage, rows)
parts.head(triage, "Work waiting", backlog.backlog_sentence(triage, by_class))
parts.section("Hours by class")
parts.picture(
    "backlog",
    charts.backlog_chart,
    by_class,
    alt="Hours of proposals by class of attention, low to high with the likely figure",
    caption="Of each object the accepted proposal, else the one with fewest likely hours: those of one object are"
    f" alternatives. Estimates, {parts.as_of(state)}.",
)
to_come(triage)
done(triage, rows)
parts.section("What waits", "In the order of the list. A click anywhere in a row opens the object.")
waiting = backlog.waiting_objects(triage, rows)
parts.table("waiting", waiting, alt="Objects with proposals and their hours", hours="Hours", skill="Skill")
