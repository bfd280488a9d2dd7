"""Work that waits: hours of proposals, by class of attention."""

from collection.questions import backlog
from dashboard import charts, data, filters
from dashboard.views import parts

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
parts.section("What waits", "In the order of the list. A click anywhere in a row opens the object.")
waiting = backlog.waiting_objects(triage, rows)
parts.table("waiting", waiting, alt="Objects with proposals and their hours", hours="Hours")
