"""What condition the collection is in, of what has been looked at."""

import streamlit as st

from collection.questions import condition
from dashboard import charts, data, filters, text
from dashboard.views import parts

state = data.state()
triage = state.triage
rows = filters.chosen(triage)
grades = condition.grades(triage, rows)
damage = condition.damage(triage, rows)
parts.head(triage, "Condition", condition.sentence(triage, rows))
parts.section("Grades")
parts.picture(
    "grades",
    charts.grades_chart,
    grades,
    alt="Objects by overall grade, best first",
    caption=f"Grade at the last look that gave one; the worst single condition decides, {parts.as_of(state)}.",
)
parts.section("Open damage")
parts.picture(
    "damage",
    charts.damage_chart,
    damage,
    alt="Objects with each kind of open damage, most frequent first, the active ones within",
    caption="The full tone at the left: change is under way. An object with two kinds counts under each;"
    " per cent are of those looked at.",
)
parts.section(
    "Who has damage",
    "Objects with any open damage, of those looked at. Few looked at says little: both numbers stand beside it.",
)
left, right = st.columns(2, gap="large")
for number, group in enumerate(condition.GROUPS):
    frame = condition.by_group(triage, rows, group)
    with right if number % 2 else left:
        st.html(text.heading(f"By {group.replace('_', ' ')}", level=3))
        parts.picture(
            f"by_{group}",
            charts.by_group_chart,
            frame,
            alt=f"Share of the objects looked at with open damage, by {group.replace('_', ' ')}",
            caption=f"Open damage on record, {parts.as_of(state)}.",
        )
