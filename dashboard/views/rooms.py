"""A room, unit or shelf: what is urgent there, what mending it prevents, what its air did, what is to be renewed."""

import polars as pl
import streamlit as st

from collection.questions import ranking, rooms
from collection.questions.air import Air, out_now, out_now_sentence
from collection.questions.air_risk import air_risk, air_risk_sentence
from collection.questions.mending import faults_open, mending, mending_sentence, upkeep, upkeep_sentence
from collection.questions.places import above, below, path_name, tree
from collection.questions.selection import PLACE
from collection.questions.spells import DAMP, HEAT, to_check, to_check_sentence
from collection.questions.words import coverage_sentence
from collection.questions.wrong_place import conflicts, wrong_place, wrong_place_sentence
from dashboard import data, filters, text
from dashboard.views import parts, rooms_air, rooms_records

PAGE = "views/rooms.py"
LISTED = (
    "name",
    "objects",
    "need_attention",
    "cause",
    "inside",
    "faults",
    "due",
    "expected_loss",
    "prevented",
    "air",
    "location_id",
)
WRONG = ("object_id", "title", "place", "needs", "inside", "days", "suits", "reason", "collection_loss")
CHECK = ("line", "object_id", "title", "place", "because", "days", "last_checked_on", "collection_loss")
FIELD = "rooms_place"


def chosen(air: Air) -> str:
    """The place the address names; one that the register does not have is said."""
    asked = st.query_params.get(PLACE, "")
    here = filters.place(air.triage)
    if asked and not here:
        parts.say(f"The address asks for place '{asked}', and the register has no place of this number.", "warn")
    return here


def choose(air: Air, here: str) -> None:
    """The way up, and a list of all places to choose from."""
    locations = air.triage.collection["location"]
    within = dict(locations.select("location_id", "within").iter_rows())
    names = dict(locations.select("location_id", pl.coalesce("name", "location_id")).iter_rows())
    if here:
        with st.container(horizontal=True):
            st.page_link(PAGE, label="All rooms", query_params=filters.without_place())
            for place in above(within, here):
                further = {**filters.query(), PLACE: place}
                st.page_link(PAGE, label=text.escaped(names[place]), query_params=further)
    indented = path_name(locations)
    st.session_state[FIELD] = here
    words = {"": "All rooms", **indented}
    st.selectbox("Place", ["", *tree(locations)], format_func=words.__getitem__, key=FIELD, on_change=_write)


def _write() -> None:
    place = st.session_state[FIELD]
    if place:
        st.query_params[PLACE] = place
    else:
        st.query_params.pop(PLACE, None)


def inside(here: str, rows: pl.DataFrame) -> None:
    """The places within this one, schema ROOMS; a click chooses one."""
    if rows.is_empty() or (here and rows["location_id"].to_list() == [here]):
        return
    parts.section(
        "What lies in it" if here else "The rooms", "Most value lost first. A click in a row shows the place."
    )
    alt = "Places with what is urgent, lost, measured and due"
    row = parts.picked(f"rooms_{here}", rows.select(LISTED), alt=alt, name="Room, unit or shelf")
    if row is not None and rows["location_id"][row] != here:
        st.query_params[PLACE] = rows["location_id"][row]
        st.rerun()


def urgent(air: Air, here: str) -> None:
    """Objects there that cannot wait, with their cause."""
    mine = air.triage.objects
    if here:
        mine = mine.filter(pl.col("location_id").is_in(below(air.triage.collection["location"], here).implode()))
    now = mine.filter(pl.col("attention").is_in(air.triage.now))
    parts.section("What cannot wait here", "" if now.height else "Nothing here needs attention now.")
    if now.height:
        st.html(parts.rows(ranking.ranking(air.triage, now)))


def mend(air: Air, here: str) -> None:
    """What mending the place would prevent, each proposal alone."""
    rows = mending(air.triage, here)
    answered = not here and not rows.is_empty()  # the first line of all rooms says which is worth most
    parts.section("Mend this", "Each by itself, what prevents most first." if answered else mending_sentence(rows))
    if rows.height:
        parts.table(
            "mending",
            rows,
            alt="Proposals for places, by what each alone would prevent",
            link=False,
            what="What is done",
            place="Where",
            objects="Objects safer",
            hours="Hours [h]",
        )


def records(air: Air, here: str) -> None:
    """Open faults, sorbent and filters, and where they are written down as dealt with."""
    faults, due = faults_open(air.triage, here), upkeep(air.triage, here)
    words = "No fault of a place is open here." if faults.is_empty() else f"{faults.height} open, the worst first."
    parts.section("Faults of the place", words)
    if faults.height:
        parts.table(
            "faults",
            faults.drop("fault"),
            alt="Open faults of places",
            link=False,
            words="Fault",
            place="Where",
            severity="How bad",
            objects="Objects there",
        )
        rooms_records.mend_form(air, faults)
    parts.section("Sorbent and filters", upkeep_sentence(due, air.triage.as_of))
    if due.height:
        parts.table(
            "upkeep",
            due,
            alt="Sorbent and filters, when renewed and when due",
            link=False,
            state="How it stands",
            place="Where",
        )
    rooms_records.renewal_form(air, here)


def risk(air: Air, here: str) -> None:
    """By how much the readings change what is expected to be lost."""
    rows = air_risk(air.triage, here)
    parts.section("What the air does to the risk", air_risk_sentence(rows))
    if rows.height:
        parts.folded(
            "Objects whose risk the air changes",
            "air_risk",
            rows,
            alt="Objects with what is expected to be lost in the air since the last check and in the air before",
            link=True,
            place="Where",
        )


def elsewhere(air: Air, here: str) -> None:
    """Objects in the wrong place, and targets that no air can keep at once."""
    rows = wrong_place(air, here)
    parts.section("In the wrong place", wrong_place_sentence(rows))
    parts.say(out_now_sentence(out_now(air, here)))
    if rows.height:
        parts.table(
            "wrong_place",
            rows.select(WRONG),
            alt="Objects too long outside what they need, and where they would do better",
            place="Where",
            needs="This object needs",
        )
    against = conflicts(air)
    if against.height:
        parts.say(f"{against.height} pairs of targets contradict each other: a person has to settle them.", "warn")
        parts.folded(
            "Targets that contradict each other",
            "conflicts",
            against,
            alt="Two targets of one object that no air keeps",
            link=True,
            words="They say",
        )


def weather(air: Air, here: str) -> None:
    """Those to look at first after heat or damp."""
    parts.section("After heat and damp", "Objects exposed to either since their last check; a day counts as 24 hours.")
    for kind in (DAMP, HEAT):
        rows = to_check(air, kind, here)
        parts.say(to_check_sentence(rows, kind))
        if rows.height:
            label = f"After {kind}: those to look at first"
            parts.folded(
                label,
                f"after_{kind}",
                rows.select(CHECK),
                alt=f"Objects to look at first after {kind}",
                link=True,
                place="Where",
                days="Days beyond",
            )


air = data.air()
here = chosen(air)
st.title("Rooms", anchor=False)
mine = air.triage.objects
if here:
    mine = mine.filter(pl.col("location_id").is_in(below(air.triage.collection["location"], here).implode()))
within = rooms.rooms(air, here)
parts.say(rooms.room_sentence(air, here) if here else rooms.rooms_sentence(air, within), "answer")
parts.say(coverage_sentence(air.triage.coverage(mine)))
rooms_records.answer()
choose(air, here)
if here:
    urgent(air, here)
    mend(air, here)
    rooms_air.draw(air, here)
    risk(air, here)
    records(air, here)
    inside(here, within)
else:
    inside(here, within)
    mend(air, here)
    rooms_air.against_needs(air, here)
    risk(air, here)
    records(air, here)
elsewhere(air, here)
weather(air, here)
