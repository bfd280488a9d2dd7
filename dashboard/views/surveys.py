"""Surveys: what the checks of one say of all objects, how far it is, whether examiners agree, and drawing a new one."""

from typing import Any

import polars as pl
import streamlit as st

from collection.questions import agreement, surveys
from collection.questions.places import path_name, tree
from collection.questions.selection import PLACE, Selection, select
from collection.questions.survey_plan import (
    BY,
    drawn_sentence,
    frame_of,
    groups_of,
    margins_of,
    plan_sentence,
    survey_walk,
)
from collection.questions.triage import Triage
from collection.recording.surveys import Purpose, note_survey
from collection.surveys.design import Design
from collection.surveys.outcomes import is_waiting, progress
from collection.surveys.parameters import surveys as figures
from dashboard import charts, data, filters
from dashboard.views import papers, parts
from schemas.vocabularies import vocabulary

LISTED = ("survey_id", "question", "how", "starts_on", "ends_on", "drawn", "done", "waiting", "not_seen")
ANSWER = "draw_answer"  # key of the session: what came of the last draw
FIELDS = ("draw_question", "draw_decision", "draw_by")  # keys of what a person types
WIDE, PERCENT = 260, 100  # pixels; in a whole
HEADINGS = {"survey_id": "Survey", "drawn": "Drawn", "done": "Checked", "waiting": "Still to do",
            "not_seen": "Could not be seen", "starts_on": "From", "ends_on": "To", "how": "How chosen",
            "question": "Question"}  # fmt: skip


def in_sight(listed: pl.DataFrame) -> dict[str, Any] | None:
    """The survey that the address names, else the latest with something to do, else the latest."""
    asked = st.query_params.get(filters.SURVEY, "")
    mine = listed.filter(pl.col("survey_id") == asked)
    if asked and mine.is_empty():
        parts.say(f"The address asks for survey '{asked}', and the register has no survey of this number.", "warn")
    rows = mine if mine.height else listed.sort(pl.col("waiting") > 0, descending=True, maintain_order=True)
    return rows.row(0, named=True) if rows.height else None


def results(triage: Triage, its: dict[str, Any]) -> None:
    """Shares with their limits, in a picture and in words."""
    rows, confidence = surveys.estimates(triage, its["survey_id"]), surveys.confidence_of(triage, its["survey_id"])
    parts.section("What its checks say of all", "Of the objects that could be drawn, not only of those checked.")
    if not rows["n"].sum():
        parts.say("Nothing was checked yet: nothing can be told.")
        return
    known = rows.drop_nulls("value")
    if known.height:
        parts.picture(
            f"shares_{its['survey_id']}",
            charts.shares_chart,
            known,
            alt="Shares of all objects that could be drawn, with limits",
            caption=f"The line is the {confidence * PERCENT:g} % limits; {known['method'][0]}.",
        )
    for words in surveys.results_in_words(rows, confidence):
        parts.say(words)


def still_to_do(triage: Triage, survey_id: str) -> None:
    """What nobody looked at yet, shelf by shelf, and what to carry."""
    units = surveys.units_of(triage, survey_id)
    if units.filter(is_waiting()).is_empty():
        return
    parts.section("Still to check", "Shelf by shelf. Filled, the sheet comes back as a list of checks.")
    rows = survey_walk(triage, survey_id).select("place", "object_id", "title", "heed", "wrong")
    parts.table(f"waiting_{survey_id}", rows, alt="Objects of the survey that nobody checked yet", heed="Mind",
                wrong="What is known", place="Place", title="Title")  # fmt: skip
    papers.of_survey(triage, survey_id)


def examiners(triage: Triage, survey_id: str) -> None:
    """Whether people who graded the same objects agree: in this survey, and in all checks."""
    parts.section("Do examiners agree?")
    mine, every = agreement.agreed(triage, survey_id), agreement.agreed(triage)
    for which, its in (("In this survey", mine.its), ("In all checks", every.its)):
        words = agreement.agreement_sentence(its)
        parts.say(f"{which}: {words[:1].lower()}{words[1:]}")
    apart = every.apart.with_columns(pl.col("gave").list.join("; "))
    if apart.height:
        parts.folded("Where they differ", "differences", apart, alt="Objects that people graded differently",
                     link=True, gave="Who gave which grade", apart="Grades apart", seen_on="Seen on")  # fmt: skip
        parts.folded("Two by two", "pairs_of_people", every.pairs, alt="Two people, what both graded, and agreement",
                     first="One", second="Other", objects="Objects", alike="Graded alike",
                     kappa="Weighted kappa [1]")  # fmt: skip


def all_surveys(listed: pl.DataFrame, here: str) -> None:
    """Every survey; a click in a row shows it above."""
    parts.section("All surveys", "A click in a row shows the survey above.")
    rows = listed.select(LISTED)
    row = parts.picked(f"surveys_{here}", rows, alt="Surveys, latest first", **HEADINGS)
    if row is not None and (picked := rows["survey_id"][row]) != here:
        st.query_params[filters.SURVEY] = picked
        st.rerun()


def asked_design() -> tuple[Design, str]:
    """Fields of a new survey: its design, what groups are made by, margin or size."""
    designs, its = vocabulary("sampling"), figures()
    names = list(designs.term)
    with st.container(horizontal=True, vertical_alignment="bottom"):
        sampling = st.selectbox("How it is drawn", names, names.index(surveys.by_lot_from_all()), key="draw_design",
                                format_func=designs.labels().__getitem__, width=WIDE)  # fmt: skip
        by, in_a_place, margin = "", its.in_a_cluster, its.margin
        if sampling in designs.terms_where("by_stratum"):
            by = st.selectbox("Groups by", list(BY), format_func=BY.__getitem__, key="draw_groups", width=WIDE)
        if sampling in designs.terms_where("in_part"):
            in_a_place = int(st.number_input("Objects of each place", 1, 100, its.in_a_cluster, key="draw_in_a_place"))
        if sampling not in designs.terms_where("takes_all"):
            margin = st.number_input("Margin, either way [%]", 0.5, 50.0, its.margin * PERCENT, 0.5,
                                     key="draw_margin", width=WIDE) / PERCENT  # fmt: skip
    return Design(sampling, margin, its.confidence, in_a_cluster=in_a_place), by


def of_which(triage: Triage) -> Selection:
    """From which objects it is drawn: of a place, of techniques, or all."""
    locations, techniques = triage.collection["location"], vocabulary("technique").labels()
    names, places = path_name(locations), ["", *tree(locations)]
    with st.container(horizontal=True, vertical_alignment="bottom"):
        place = st.selectbox("From the objects of", places, key="draw_place", width=WIDE,
                             format_func=lambda at: names.get(at) or "All places")  # fmt: skip
        kinds = st.multiselect("Technique", list(techniques), format_func=techniques.__getitem__, placeholder="Any",
                               key="draw_technique", width=WIDE)  # fmt: skip
    return Selection.of(**{PLACE: place, "technique": kinds})


def new_survey(triage: Triage) -> None:
    """How many to look at for a margin, of which groups; drawn and noted when a person says so."""
    parts.section("Draw a new one", "Drawn before anybody checks an object; the seed is recorded.")
    chosen, (design, by) = of_which(triage), asked_design()
    frame = frame_of(triage, select(triage, chosen), by)
    parts.say(plan_sentence(frame.height, design), "answer")
    if frame.is_empty():
        return
    shared = groups_of(triage, frame, design) if by else None
    if shared is not None:
        rows = shared.select("stratum", "held", "drawn")
        parts.table("draw_groups_table", rows, alt="How many are drawn of each group", link=False, stratum="Group",
                    held="There are", drawn="Drawn")  # fmt: skip
    parts.picture(
        "margins",
        charts.margins_chart,
        margins_of(frame.height, design),
        alt="Margin of a share by the number of objects checked",
        headings={"size": "Objects checked", "margin": "Margin, either way [1]"},
        caption="As if drawn at random from all, for a share of one half, in"
        f" {design.confidence * PERCENT:g} of {PERCENT} such surveys.",
    )
    draw(triage, frame, design, shared, drawn_sentence(chosen))


def draw(triage: Triage, frame: pl.DataFrame, design: Design, shared: pl.DataFrame | None, from_which: str) -> None:
    """Question, decision, name and button; what was typed stays until it is written."""
    question, decision, who = FIELDS
    st.text_input("What is asked", key=question, placeholder="What is loose on the shelves of L1?")
    st.text_input("What is decided with the answer", key=decision)
    with st.container(horizontal=True, vertical_alignment="bottom"):
        st.text_input("Your name", key=who, placeholder="Who draws it", width=WIDE)
        if st.button("Draw and note this survey", key="draw_note"):
            typed = st.session_state
            purpose = Purpose(typed[question], typed[decision], from_which)
            words, number = note_survey(data.store(), frame, design, shared, purpose, by=typed[who], day=triage.as_of)
            typed[ANSWER] = words
            if number:
                st.query_params[filters.SURVEY] = number
                st.rerun()
    if answer := st.session_state.pop(ANSWER, ""):
        parts.say(answer, "warn")


def first_sentence(triage: Triage, its: dict[str, Any] | None) -> str:
    """How far the survey in sight is."""
    if its is None:
        return "No survey is on record yet: one drawn at random says something of all objects from a few."
    far = progress(surveys.units_of(triage, its["survey_id"]), its["starts_on"], triage.as_of, figures().pace_limits)
    words = its["question"] or ""
    asked = f": {words}" if words.endswith((".", "?", "!")) else f": {words}." if words else "."
    return f"{its['survey_id']}{asked} {surveys.progress_sentence(far)}"


triage = data.state().triage
listed = surveys.surveys(triage)
its = in_sight(listed)
st.title("Surveys", anchor=False)
parts.say(first_sentence(triage, its), "answer")
if its is not None:
    results(triage, its)
    still_to_do(triage, its["survey_id"])
    all_surveys(listed, its["survey_id"])
    examiners(triage, its["survey_id"])
new_survey(triage)
