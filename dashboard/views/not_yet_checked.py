"""What nobody has checked yet, and what is expected there."""

from collection.questions import not_yet_checked, storeroom
from dashboard import charts, data, filters
from dashboard.views import parts

state = data.state()
triage = state.triage
chosen = filters.chosen(triage)
rows = not_yet_checked.not_checked(triage, chosen)
parts.head(triage, "Not yet checked", not_yet_checked.sentence(triage, rows), rest=True)
if not rows.is_empty():
    parts.section("Where they are")
    places = storeroom.by_location(triage, not_yet_checked.never_checked(chosen), filters.place(triage))
    parts.picture(
        "not_checked_where",
        charts.by_location_chart,
        places,
        alt="Share of the collection's value expected to be lost a year among objects never checked, by place",
        caption=f"Only objects never checked in person; judged by their kind, {parts.as_of(state)}.",
    )
    parts.section("Look at these first", "By what may be lost there. A click anywhere in a row opens the object.")
    parts.table("not_yet_checked", rows, alt="Objects never checked, by what may be lost there")
