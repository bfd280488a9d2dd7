"""Work that waits: hours of open options, by class of attention."""

from collection.questions import backlog
from dashboard import charts, data, filters
from dashboard.views import parts

state = data.state()
found = state.found
rows = filters.chosen(found)
by_class = backlog.backlog(found, rows)
parts.head(found, "Backlog", backlog.backlog_sentence(found, by_class))
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
waiting = backlog.waiting_objects(found, rows)
parts.table("waiting", waiting, alt="Objects with open options and their hours", hours="Hours")
