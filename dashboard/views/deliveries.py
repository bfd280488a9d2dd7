"""What came in, by whom, what it changed, and taking a delivery back."""

from typing import Any

import polars as pl
import streamlit as st

from collection.questions import deliveries
from collection.recording.deliveries import undo_delivery
from dashboard import data, filters, text
from dashboard.views import parts

ANSWER, WHO = "undo_answer", "undo_by"  # keys of the session and of a field
LISTED = {"delivery_id": "Delivery", "came_at": "When (UTC)", "made_by": "By whom", "files": "Files",
          "what": "Of which records", "new": "New", "changed": "Changed", "unchanged": "Unchanged",
          "outside": "Outside this collection", "refused": "Refused", "between": "Lines between",
          "stands": "Does it stand?"}  # fmt: skip


def in_sight(listed: pl.DataFrame) -> dict[str, Any]:
    """The delivery that the address names, else the latest."""
    asked = st.query_params.get(filters.DELIVERY, "")
    mine = listed.filter(pl.col("delivery_id") == asked)
    if asked and mine.is_empty():
        parts.say(f"The address asks for delivery '{asked}', and the register has no delivery of this number.", "warn")
    return (mine if mine.height else listed).row(0, named=True)


def one(its: dict[str, Any]) -> None:
    """What one delivery changed, and the button that takes it back."""
    number = its["delivery_id"]
    cells = deliveries.changed_cells(data.store().read_changes_of(number))
    parts.section(f"{number}: {its['files'] or 'no file'}", deliveries.changed_sentence(cells))
    if cells.height:
        parts.table(f"cells_{number}", cells, alt="Filled cells that got another value", link=False, record="Record",
                    column="Column", cells="Cells", example="For example")  # fmt: skip
    if lines := deliveries.not_read(data.store().deliveries(), number):
        st.html(text.heading("What was not read", level=3) + text.facts(lines))
    if its["stands"] != "stands":
        parts.say(f"{number} is {its['stands']}.")
        return
    parts.say(
        "If it is taken back, the rows it added are removed and the rows it changed are as before; the journal keeps"
        " everything."
    )
    with st.container(horizontal=True, vertical_alignment="bottom"):
        who = st.text_input("Your name", key=WHO, placeholder="Who takes it back", width=260)
        if st.button(f"Undo {number}", key="undo"):
            st.session_state[ANSWER] = undo_delivery(data.store(), number, by=who)
            st.rerun()


def all_of_them(listed: pl.DataFrame, here: str) -> None:
    """Every delivery; a click in a row shows it."""
    parts.section("All deliveries", "Latest first. A click in a row shows the delivery above.")
    row = parts.picked(f"deliveries_{here}", listed, alt="Deliveries, latest first", **LISTED)
    if row is not None and (picked := listed["delivery_id"][row]) != here:
        st.query_params[filters.DELIVERY] = picked
        st.rerun()


data.state()
st.title("Deliveries", anchor=False)
listed = deliveries.deliveries(data.store().deliveries())
parts.say(deliveries.deliveries_sentence(listed), "answer")
for words in st.session_state.pop(ANSWER, []):
    parts.say(words, "warn")
if listed.height:
    its = in_sight(listed)
    one(its)
    all_of_them(listed, its["delivery_id"])
