"""Two questions next to the plan, worked out when unfolded: what a sum can finish, and what a loan displaces."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from typing import Any

import streamlit as st

from collection.plan.musts import MustsNotMet
from collection.plan.plan import Plan
from collection.planning.asked import LOAN, MOST_YEARS, SUM, UNTIL, Asked
from collection.planning.situation import currency
from collection.questions import loan_displaces, plan_sentences, plan_tables, year_plan
from collection.questions.triage import Triage
from collection.questions.words import day_in_words
from dashboard import data, plan_work
from dashboard.plan_work import Lending, Steps
from dashboard.views import parts, plan_fields

LEFT, LEND = "left_of_money", "if_we_lend"  # keys of what unfolds
DONE = ("object_id", "title", "place", "steps", "hours", "money", "worth", "skill", "option_id")
MOVED = ("object_id", "title", "without", "together", "of_loan", "worth", "option_id")
WIDE = 200  # pixels


def draw(triage: Triage, asked: Asked) -> None:
    """Both, folded; what the address asks for is unfolded."""
    with _unfolded("What is left of the money", LEFT, asked=asked.amount is not None) as is_open:
        if is_open:
            _left(triage, asked)
    with _unfolded("If we lend", LEND, asked=bool(asked.loan_id)) as is_open:
        if is_open:
            _lend(triage, asked)


@contextmanager
def _unfolded(label: str, key: str, *, asked: bool) -> Iterator[bool]:
    """What unfolds; whether it is unfolded."""
    st.session_state.setdefault(key, asked)
    with st.expander(label, key=key, on_change="rerun") as fold:
        yield bool(fold.open)


def _left(triage: Triage, asked: Asked) -> None:
    """The sum and its last day, and what can be finished."""
    first, last = triage.as_of, date(triage.as_of.year + MOST_YEARS, 12, 31)
    st.session_state[SUM] = asked.amount
    st.session_state[UNTIL] = asked.until if asked.until and first <= asked.until <= last else None
    with st.container(horizontal=True, vertical_alignment="bottom"):
        unit = currency(triage) or year_plan.MONEY
        st.number_input(f"Sum [{unit}]", 0.0, step=plan_fields.MONEY_STEP, key=SUM,
                        on_change=plan_fields.write_amount, args=(SUM,), format="%.0f", width=WIDE)  # fmt: skip
        st.date_input("Last day", key=UNTIL, on_change=_write_day, min_value=first, max_value=last, width=WIDE)
    amount, until = asked.amount, asked.until
    if not amount or until is None:
        parts.say("Give the sum that is left and its last day. What must be done stays with the plan.")
        return
    plan = _worked_out(f"{LEFT} {amount} {until}", plan_work.SUM, plan_work.sum_steps(triage, amount, until))
    if isinstance(plan, MustsNotMet):
        parts.say(year_plan.not_met_sentence(plan), "warn")
    elif isinstance(plan, Plan):
        parts.say(plan_sentences.sum_sentence(triage, plan, amount, until), "answer")
        rows = plan_tables.in_reading_unit(plan, year_plan.schedule(triage, plan).select(DONE))
        if not rows.is_empty():
            parts.table("with_the_sum", rows, alt="What can be finished with the sum", link=False,
                        hours="Hours [h]", skill="Skill", place="Place")  # fmt: skip


def _lend(triage: Triage, asked: Asked) -> None:
    """The loan, and what saying yes to it displaces."""
    loans = loan_displaces.to_answer(triage)
    names = {
        n: f"{n}, {party or 'borrower not recorded'}, leaves {day_in_words(day)}" for n, party, day in loans.iter_rows()
    }
    if names:
        st.session_state[LOAN] = asked.loan_id if asked.loan_id in names else None
        st.selectbox("Loan that is asked for", list(names), format_func=names.__getitem__, key=LOAN,
                     on_change=_write_loan, placeholder="Choose a loan")  # fmt: skip
    if not asked.loan_id:
        parts.say("Choose a loan to see what saying yes displaces." if names else "No loan waits for an answer.")
        return
    question = asked.question(triage)
    steps = plan_work.lending_steps(triage, question, asked.loan_id)
    lending = _worked_out(f"{LEND} {asked.loan_id} {question}", plan_work.LENDING, steps)
    if isinstance(lending, Lending):
        _displaced(triage, asked.loan_id, lending)


def _displaced(triage: Triage, loan_id: str, its: Lending) -> None:
    promise, without, together = its.promise, its.without, its.together
    if isinstance(without, MustsNotMet):
        parts.say(f"Without the loan too: {year_plan.not_met_sentence(without)}", "warn")
        return
    if isinstance(together, MustsNotMet):
        parts.say(loan_displaces.not_ready_sentence(loan_id, promise.leaves_on, together), "answer")
        parts.say(f"Without it: {year_plan.sentence(without)}")
        return
    rows = loan_displaces.displaced(triage, without, together, promise.asked)
    words = loan_displaces.sentence(loan_id, promise.leaves_on, rows, without, together, promise.no_option)
    parts.say(words, "answer")
    parts.say(f"Without it: {year_plan.sentence(without)}")
    parts.say(f"With it: {year_plan.sentence(together)}")
    if not rows.is_empty():
        shown = plan_tables.in_reading_unit(without, rows.select(MOVED))
        parts.table("displaced", shown, alt="What comes, moves or falls out if the loan is agreed", link=False)


def _worked_out(asked: str, result: str, steps: Steps) -> Any:
    """What the work has come to so far; how far it is, what is wrong with what was asked, a way to go on."""
    task = data.worked_out(asked, steps)
    if not task.wait(plan_work.PATIENCE_S):
        parts.follow(task, result)
    if task.failed:
        raise RuntimeError("the work next to the plan ended with a fault")
    if task.error is not None:
        parts.say(f"{task.error.what}. {task.error.to_do}", "warn")
    elif task.done and result not in task.results:
        st.button("Go on", key=f"go_on_{result}", on_click=data.forget_worked_out, args=(asked, steps))
    return task.results.get(result)


def _write_day() -> None:
    plan_fields.write(UNTIL, st.session_state[UNTIL])


def _write_loan() -> None:
    plan_fields.write(LOAN, st.session_state[LOAN])
