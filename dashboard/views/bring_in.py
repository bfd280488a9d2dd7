"""A file of the museum brought in: what it is taken for, what would happen, and then doing it."""

import polars as pl
import streamlit as st

from collection.intake import summary
from collection.intake.pipeline import Intake
from dashboard import bringing_in, data, filters, plan_work, text
from dashboard.background import Task
from dashboard.bringing_in import Draft
from dashboard.views import bring_in_choices, parts

DRAFT, NUMBER = "bring_in_draft", "bring_in_number"  # keys of the session
WHO = "bring_in_by"  # key of a field
FIRST = (
    "Choose a file of your museum: a catalogue, a list of checks, places, loans, or what a climate logger wrote."
    " Nothing is written before you have seen what would happen and said yes."
)
READ = (
    "CSV, TSV, XLSX and ODS, as they are. The register works out what the file holds and what each heading means; you"
    " change what it got wrong. Files over 200 MB, and packages, come in with enamels intake FILE in a terminal."
)
STOPPING = "Stopping; nothing is written"


def draft() -> Draft | None:
    """What was chosen so far in this session."""
    its: Draft | None = st.session_state.get(DRAFT)
    return its


def forget() -> None:
    """Put the file aside; what was worked out for it is stopped."""
    its = draft()
    for task in (its.shown, its.bringing) if its else ():
        if task is not None:
            task.stop()
    st.session_state[DRAFT] = None
    st.session_state[NUMBER] = st.session_state.get(NUMBER, 0) + 1


def choose() -> None:
    """The field for a file; a new one takes the place of the one before."""
    key = f"file_{st.session_state.setdefault(NUMBER, 0)}"
    sent = st.file_uploader("A file from this computer", key=key, max_upload_size=bringing_in.MOST_MEGABYTES)
    if sent is not None and draft() is None:
        with st.spinner("Reading the file \N{HORIZONTAL ELLIPSIS}"):
            its = bringing_in.received(st.session_state[NUMBER], sent.name, sent.getvalue(), data.store())
        st.session_state[DRAFT] = its
        st.rerun()
    parts.say(READ)


def chosen(its: Draft) -> None:
    """The file that was chosen, and the way to choose another."""
    with st.container(horizontal=True, vertical_alignment="center"):
        parts.say(its.name, "answer")
        st.button("Choose another file", key="another", on_click=forget)
    if its.error is not None:
        parts.say(str(its.error), "warn")


def what_would_happen(its: Draft) -> None:
    """The button that shows it, and what it showed."""
    choice = its.choice
    if choice is None:
        return
    parts.section("What would happen")
    if st.button("Show what would happen", key="show", disabled=not choice.ready):
        its.shown, its.shown_for, its.bringing = (
            Task(bringing_in.show_steps(its, choice, data.store()), alone=False),
            choice.asked,
            None,
        )
    if not choice.ready:
        parts.say("First answer what is still open above.")
    elif its.shown is None:
        parts.say("Each row is judged as if it were brought in; nothing is written.")
    elif its.shown_for != choice.asked:
        parts.say("What you chose has changed since: show it again.", "warn")
    else:
        wait_for(its.shown, "show")
        if its.foreknown is not None:
            outcome(its.foreknown)


def wait_for(task: Task, key: str) -> None:
    """How far the work is; what was wrong, in a sentence."""
    task.wait(plan_work.PATIENCE_S)
    if task.failed:
        raise RuntimeError("the work on a file ended with a fault")
    if not task.done:
        parts.follow(task, key, STOPPING)
    elif task.error is not None:
        parts.say(f"{task.error} What you chose stays as it is.", "warn")
    elif not task.results:
        parts.say("Stopped. Nothing was written; what you chose stays as it is.", "warn")


def outcome(result: Intake) -> None:
    """Rows by outcome, cells that change, cells not read, rows refused or asked about, headings left out."""
    parts.say(summary.foreknown_sentence(result), "answer")
    changes = summary.changes_in_words(result)
    if changes.height:
        parts.section("Cells of objects that are here already")
        parts.table("bring_in_changes", changes, alt="Cells that would change", link=False, what="What",
                    replaced="Get another value", filled="Were empty", example="For example")  # fmt: skip
    sentences_under("Cells that are not read: they stay empty", summary.unread_in_words(result))
    sentences_under("Rows that ask for something", summary.problems_in_words(result))
    for sentence in summary.sentences_on_headings(result):
        parts.say(sentence)


def sentences_under(title: str, sayings: pl.DataFrame) -> None:
    """Sentences on cells or rows under a title, if there are any; schema SAYINGS."""
    if sayings.height:
        st.html(text.heading(title) + text.facts(sayings.rows()))


def bring(its: Draft) -> None:
    """A name and the button that writes; then how far it is, and what came of it."""
    shown, choice = its.foreknown, its.choice
    if shown is None or choice is None:
        return
    parts.section(
        "Bring in",
        "Rows that are new or changed are written at once, all or none; it can be undone on the page of deliveries.",
    )
    st.session_state[WHO] = its.who
    with st.container(horizontal=True, vertical_alignment="bottom"):
        st.text_input("Your name", key=WHO, placeholder="Who brings it in", width=260, on_change=named)
        asked = st.button("Bring in", key="bring", disabled=its.bringing is not None and not its.bringing.done)
    if asked and not its.who.strip():
        parts.say("First give your name.", "warn")
    elif asked:
        its.bringing = Task(bringing_in.bring_steps(its, choice, data.store(), shown), alone=False)
    if its.bringing is None:
        return
    wait_for(its.bringing, "bring")
    if its.bringing.done and its.done is not None:
        st.rerun()
    if its.shown is not None and bringing_in.FOREKNOWN in its.bringing.results:
        its.shown.results, its.bringing = its.bringing.results, None
        parts.say("The register has changed since: look at what would happen now, then bring it in.", "warn")
        st.button("Show it", key="show_again")


def named() -> None:
    """The name that was typed stays whatever happens."""
    its = draft()
    if its is not None:
        its.who = str(st.session_state[WHO])


def finished(its: Draft, result: Intake) -> None:
    """What came of it, and where to go on."""
    st.title("Bring in", anchor=False)
    parts.say(summary.done_sentence(its.name, result), "answer")
    for sentence in summary.sentences_on_conflicts(result):
        parts.say(sentence, "warn")
    number = result.written.delivery_id
    if number is not None:
        st.page_link(
            "views/deliveries.py",
            label=f"What {number} changed, and undo",
            query_params=filters.query(delivery_id=number),
        )
    if result.refused.height:
        st.page_link(
            "views/not_taken_in.py", label="Rows that were not taken in, to correct", query_params=filters.query()
        )
    st.page_link("views/storeroom.py", label="The storeroom: what needs attention now", query_params=filters.query())
    st.button("Bring in another file", key="another", on_click=forget)


def page() -> None:
    """The whole page."""
    its = draft()
    if its is not None and its.done is not None:
        finished(its, its.done)
        return
    st.title("Bring in", anchor=False)
    if its is None:
        parts.say(FIRST, "answer")
        choose()
        return
    chosen(its)
    if its.choice is not None:
        bring_in_choices.draw(its)
        what_would_happen(its)
        bring(its)


page()
