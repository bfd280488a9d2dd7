"""What needs attention, where the risk lies, and the list to work down."""

import polars as pl
import streamlit as st

from collection.questions import ranking, storeroom
from collection.questions.places import above
from collection.questions.triage import Triage
from dashboard import charts, data, filters, text, theme
from dashboard.views import parts

PAGE = "views/storeroom.py"


def where(state: data.Snapshot, triage: Triage) -> None:
    """The picture, with the way back up; a click on a bar goes one step down."""
    parts.section("Where the risk lies")
    here = filters.place(triage)
    _way_up(triage, here)
    frame = storeroom.by_location(triage, filters.chosen(triage), here)
    if frame.is_empty():
        parts.say("Nothing is kept here that was asked for.")
        return
    event = parts.picture(
        f"where_{here}",  # a choice made on one level is none on the next
        charts.by_location_chart,
        frame,
        alt="Objects' worth lost a year by place, largest first; what nobody has seen apart",
        caption=f"Expected loss in objects of mean value, counted over the objects shown, {parts.as_of(state)};"
        " \u2018now\u2019 counts those that need attention now."
        " Choose a bar, or a place among the filters, to look closer.",
        on_select="rerun",
        selection_mode=charts.PICKED,
    )
    filters.follow(event, charts.PICKED, here)


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


def cards(triage: Triage, listed: pl.DataFrame) -> None:
    """The first objects of the list, told in full."""
    look = parts.look()
    for row in listed.head(theme.CARDS).iter_rows(named=True):
        parts.link_to(row["object_id"], row["title"])
        where = f" \u00b7 {row['place']}" if row["place"] else ""
        first = f"{theme.marked(row['attention'])} \u00b7 {row['risk']}"
        hours = (
            f" \u00b7 {row['hours']:g} hours, {row['reach']}" if row["hours"] is not None else f" \u00b7 {row['reach']}"
        )
        why = row["reasons"] or "nothing recorded against it"
        st.html(text.item(first, f"{why}{where}{hours}", row["first_step"], theme.tone(row["attention"], look)))


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
parts.section("What to do first", ranking.cut_sentence(everything, rows))
cards(everything, rows)
parts.section("The whole list", "Choose a row to open its object.")
parts.table("list", rows, alt="Objects in the order to work down, with attention, reasons, first step and hours")
