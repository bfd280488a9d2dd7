"""What needs attention, where value is expected to be lost, and the list to work down."""

import contextlib

import polars as pl
import streamlit as st

from collection.questions import act_now, back_test, how_sure, ranking, where_lost
from collection.questions.places import above
from collection.questions.triage import Triage
from dashboard import charts, data, filters, text, theme
from dashboard.views import parts
from schemas.errors import StoreBusy

PAGE = "views/storeroom.py"
FIRST = ("line", "object_id", "title", "place", "heed", "reasons", "first_step", "attention", "label", "risk", "hours",
         "reach", "last_checked_on", "collection_loss", "location_id")  # fmt: skip


def where(state: data.Snapshot, triage: Triage) -> None:
    """The picture, with the way back up; a click on a bar goes one step down."""
    parts.section("Where value is expected to be lost")
    here = filters.place(triage)
    _way_up(triage, here)
    frame = where_lost.by_location(triage, filters.chosen(triage), here)
    if frame.is_empty():
        parts.say("No object found here.")
        return
    event = parts.picture(
        f"where_{here}",  # a choice made on one level is none on the next
        charts.by_location_chart,
        frame,
        alt="Share of the collection's value expected to be lost a year by place, largest first, by cause",
        caption="Mean over the range of the rates, counted over the objects shown, "
        f"{parts.as_of(state)}; \u2018now\u2019 counts those that need attention now."
        " Choose a bar, or a place among the filters, to look closer.",
        on_select="rerun",
        selection_mode=charts.PICKED,
    )
    filters.follow(event, charts.PICKED, here)
    if not here:
        expected_and_seen()


def expected_and_seen() -> None:
    """What was expected some years ago beside what the checks saw; nothing while somebody writes."""
    with contextlib.suppress(StoreBusy):
        parts.say(back_test.storeroom_sentence(data.back_test(data.YEARS_BACK)))


def _way_up(triage: Triage, here: str) -> None:
    """Links to the places this one lies in."""
    if not here:
        return
    within = dict(triage.collection["location"].select("location_id", "within").iter_rows())
    names = dict(triage.collection["location"].select("location_id", "name").iter_rows())
    with st.container(horizontal=True):
        st.page_link(PAGE, label="All places", query_params=filters.without_place())
        for place in above(within, here):
            words = text.escaped(names[place] or place)
            st.page_link(PAGE, label=words, query_params={**filters.query(), "location_id": place})


def groups(triage: Triage, listed: pl.DataFrame) -> None:
    """What needs attention now, by its reason: the step once, then the objects; what is one thing to do unfolds."""
    for group in act_now.groups(triage, listed):
        head = text.heading(f"{theme.marked(group.attention)} \u00b7 {group.title}", level=3)
        shared = [
            text.unfolding(
                f"{row['words']}: {row['objects']} objects",
                parts.rows(group.objects.filter(pl.col("object_id").is_in(row["object_ids"]))),
            )
            for row in group.together.iter_rows(named=True)
        ]
        st.html("".join([head, text.paragraph(f"First: {group.step}."), *shared, parts.rows(group.alone)]))


def on_paper(listed: pl.DataFrame) -> None:
    """Every row, as lines to print: the table above prints its window only."""
    if st.checkbox("Show every row, to print", key="every_row"):
        by_class = listed.partition_by("attention", maintain_order=True)
        st.html("".join(text.heading(theme.marked(its["attention"][0]), 3) + parts.rows(its) for its in by_class))


def sure(triage: Triage) -> None:
    """What of the list stays whatever the starting values, and which of them move it most; drawn when unfolded."""
    with st.expander("How sure this order is", key="how_sure", on_change="rerun") as fold:
        if fold.open:
            parts.say(how_sure.list_sentence(data.drawn(triage)))
            parts.say(how_sure.swaying_sentence(how_sure.swaying(triage)))


def classes(rows: pl.DataFrame) -> str:
    """How many objects are in each class of attention, as HTML."""
    look = parts.look()
    return text.classes([(n, theme.marked(k), theme.tone(k, look)) for k, n in ranking.by_class(rows).items()])


state = data.state()
everything = state.triage
shown = filters.chosen(everything)
rows = ranking.ranking(everything, shown)
parts.head(everything, "Storeroom", ranking.answer(everything, rows), more=classes(rows))
where(state, everything)
if not rows.filter(pl.col("attention").is_in(everything.now)).is_empty():
    parts.section("Act now, by reason")
    groups(everything, rows)
if not rows.is_empty():
    parts.section("The whole list", ranking.hours_sentence(everything, rows))
    listed = rows.select(FIRST).join(data.travels(), on="object_id", how="left", maintain_order="left")
    parts.table("list", listed, alt="Objects in the order to work down, with reasons, first step and hours")
    on_paper(rows)
    sure(everything)
