"""Work that waits: hours of open options, by class of attention."""

from collection.questions import backlog
from dashboard import charts, data, filters
from dashboard.views import parts

state = data.state()
triage = state.triage
rows = filters.chosen(triage)
by_class = backlog.backlog(triage, rows)
parts.head(triage, "Backlog", backlog.backlog_sentence(triage, by_class))
parts.section("Hours by class")
parts.picture(
    "backlog",
    charts.backlog_chart,
    by_class,
    alt="Hours of open options by class of attention, low to high with the likely figure",
    caption="Of each object the open option with fewest likely hours: options of one object are alternatives."
    f" Estimates, {parts.as_of(state)}.",
)
parts.section("What waits", "In order of rank. Choose a row to open its object.")
waiting = backlog.waiting_objects(triage, rows)
parts.table("waiting", waiting, alt="Objects with open options and their hours", hours="Hours")
