"""What nobody has looked at yet, by what may be lost there unseen."""

from collection.questions import not_yet_checked, storeroom
from dashboard import charts, data, filters
from dashboard.views import parts

state = data.state()
triage = state.triage
chosen = filters.chosen(triage)
rows = not_yet_checked.unseen(triage, chosen)
parts.head(triage, "Not yet seen", not_yet_checked.unseen_sentence(rows), unseen=True)
if not rows.is_empty():
    parts.section("Where they are")
    places = storeroom.by_location(triage, not_yet_checked.never_seen(chosen), filters.place(triage))
    parts.picture(
        "unseen_where",
        charts.by_location_chart,
        places,
        alt="Objects' worth that may be lost a year among objects never looked at, by place",
        caption="Only objects never looked at in person; judged by their kind, measured by nobody,"
        f" {parts.as_of(state)}.",
    )
    parts.section("Look at these first", "Most may be lost unseen at the top. Choose a row to open its object.")
    parts.table("not_yet_seen", rows, alt="Objects never looked at, by what may be lost unseen")
