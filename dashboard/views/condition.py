"""What condition the collection is in, of what has been checked."""

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
    caption=f"Grade at the last check that gave one; the worst single condition decides, {parts.as_of(state)}.",
)
parts.section("Kinds of damage")
parts.picture(
    "damage",
    charts.damage_chart,
    damage,
    alt="Objects with each kind of damage, most frequent first, the moving ones within",
    caption="The full tone at the left: something moves. An object with two kinds counts under each;"
    " per cent are of those checked.",
)
crossed = condition.kinds_by_technique(triage, rows)
if not crossed.is_empty():
    parts.section("Which kinds on which technique")
    parts.picture(
        "kinds",
        charts.kinds_chart,
        crossed,
        alt="Kinds of damage by technique: objects with each, darker where the share of those checked is larger",
        caption="Objects; the tone is the share of those checked. Techniques of which"
        f" {condition.FEW} or more were checked, {parts.as_of(state)}.",
    )
parts.section(
    "Who has damage",
    f"Objects with any damage, of those checked. Of fewer than {condition.FEW} checked only the numbers are given.",
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
            alt=f"Share of the objects checked with damage, by {group.replace('_', ' ')}",
            caption=f"Damage on record, {parts.as_of(state)}.",
        )
