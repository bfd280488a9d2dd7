"""Accepting the plan in sight, and what became of the plan that was accepted before."""

from datetime import date

import streamlit as st

from collection.plan.plan import Plan
from collection.planning.accepted import accepted_plan, happened
from collection.planning.asked import Asked
from collection.questions import plan_followed
from collection.questions.triage import Triage
from collection.recording.plans import accept
from dashboard import data
from dashboard.views import parts
from schemas.errors import RegisterError

BY, NOTE, PRESSED = "accept_by", "accept_note", "accept_plan"  # keys of fields and button
DRAFT = "draft_of_acceptance"  # key of the session: what was typed, until it is written
ANSWER = "acceptance_answer"  # key of the session: what came of it, and for which plan
FOLLOWED = ("year", "object_id", "title", "stands", "hours_planned", "hours", "money_planned", "money", "steps",
            "option_id")  # fmt: skip
TOTALS = ("year", "lines", "done", "hours_planned", "hours", "money_planned", "money")
ACTUAL = {"hours": "Hours taken [h]", "money": "Money spent", "done": "Done"}


def draw(triage: Triage, plan: Plan, asked: Asked, *, ready: bool) -> None:
    """Name, note and button. `ready`: the plan in sight is the one that is asked for."""
    parts.section(
        "Accept this plan",
        "It is written with its lines as they stand here and followed from now on. What changes later changes none of"
        " its figures.",
    )
    with st.container(horizontal=True, vertical_alignment="bottom"):
        _field(BY, "Your name", "Who accepts it", 260)
        _field(NOTE, "Note", "Agreed with whom, on what condition", 420)
        if st.button("Accept this plan", key=PRESSED, disabled=not ready):
            st.session_state[ANSWER] = (asked, _accepted(triage, plan))
            st.rerun()
    if not ready:
        parts.say("It can be accepted once the plan that is asked for is there.")
    of, words = st.session_state.get(ANSWER, (None, ""))
    if words and of == asked:
        parts.say(words, "warn")


def followed(triage: Triage) -> None:
    """The plan that the house follows, planned next to actual; nothing where none was accepted."""
    plan = accepted_plan(triage.collection)
    if plan is None:
        return
    rows = plan_followed.followed(triage, plan)
    parts.section("The accepted plan", plan_followed.sentence(triage, plan, rows))
    since = plan_followed.happened_sentence(happened(triage, plan))
    for words in (plan_followed.not_done_sentence(rows), plan_followed.worth_sentence(plan, rows), since):
        if words:
            parts.say(words)
    parts.table("followed", rows.select(FOLLOWED), alt="Lines of the accepted plan, and what came of each", link=False,
                **ACTUAL)  # fmt: skip
    sums = plan_followed.totals(rows).select(TOTALS)
    parts.folded("By year, and in all", "followed_years", sums, alt="Planned and done, by year; last all years",
                 link=False, lines="Lines", **ACTUAL)  # fmt: skip


def _accepted(triage: Triage, plan: Plan) -> str:
    """What came of it, in a sentence; what was typed stays unless it was written."""
    draft = st.session_state[DRAFT]
    before = data.store().version()
    try:
        words = accept(
            data.store(), triage.collection, plan, by=draft.get(BY, ""), today=date.today(), note=draft.get(NOTE, "")
        )
    except RegisterError as error:
        return f"Nothing was written. {error}"
    if data.store().version() != before:
        draft.pop(NOTE, None)
    return words


def _field(key: str, label: str, hint: str, width: int) -> None:
    """A field that shows what was typed, on this visit of the page or an earlier one."""
    draft = st.session_state.setdefault(DRAFT, {})
    st.session_state[key] = draft.get(key, "")
    st.text_input(label, key=key, placeholder=hint, on_change=_remember, args=(key,), width=width)


def _remember(key: str) -> None:
    st.session_state[DRAFT][key] = st.session_state[key]
