"""Which treatments in which years with the money and hours there are, what that prevents, and what it leaves undone."""

from typing import Any

import polars as pl
import streamlit as st

from collection.plan.musts import MustsNotMet
from collection.plan.parameters import asking
from collection.plan.plan import Plan
from collection.plan.stability import Stability
from collection.planning.asked import Asked, clear_by
from collection.planning.clearing import clearing
from collection.planning.situation import currency
from collection.questions import plan_line, plan_sentences, plan_tables, year_plan
from collection.questions.learned_rates import rate_groups
from collection.questions.triage import Triage
from collection.questions.words import coverage_sentence, day_in_words
from dashboard import charts, data, plan_work
from dashboard.background import Task
from dashboard.plan_work import DRAWS, FRONTIER, MORE, NEXT, OTHERWISE, PLAN
from dashboard.views import papers, parts, plan_accept, plan_asides, plan_fields

LAST = "last_plan"  # key of the session: the task whose plan was last seen, and what it was asked for
MINE = "task_of_plan"  # key of the session
GROUP, WIDE = "group_of_rates", 420  # key; pixels
LISTED = ("year", "object_id", "title", "steps", "hours", "money", "worth", "in_draws", "place", "must", "skill",
          "option_id")  # fmt: skip
WORDS = {"skill": "Skill", "hours": "Hours [h]", "place": "Place", "title": "Title"}


def task_for(asked: Asked) -> Task:
    """The work on what is asked; what this person asked before is stopped, what somebody else stopped begins anew."""
    task = data.planned(asked)
    before = st.session_state.get(MINE)
    if before is not task:
        if before is not None:
            before.stop()
        if task.stopping:
            data.forget_plan(asked)
            task = data.planned(asked)
    st.session_state[MINE] = task
    return task


def in_sight(task: Task, asked: Asked) -> tuple[Task, Asked]:
    """The work to show: this one once it has a plan, else the last that had one."""
    if PLAN in task.results:
        st.session_state[LAST] = (task, asked)
        return task, asked
    shown: tuple[Task, Asked] = st.session_state.get(LAST, (task, asked))
    return shown


def by_year(plan: Plan) -> None:
    """A sentence for each year, then the plan over twice the years."""
    sentences = [plan_sentences.year_sentence(row) for row in plan_tables.by_year(plan).iter_rows(named=True)]
    for words in (*sentences, plan_sentences.setups_sentence(plan), plan_sentences.twice_sentence(plan)):
        if words:
            parts.say(words)


def to_clear(triage: Triage, asked: Asked) -> None:
    """What to ask for so that everything that needs attention now is done by the next such day."""
    until = clear_by(triage.as_of)
    words = f"What must I ask for to have what needs attention now done by {day_in_words(until)}?"
    if not plan_fields.clear_asked(words):
        return
    its = clearing(triage, asked.question(triage), until)
    parts.say(plan_sentences.clearing_sentence(its), "answer")
    for sentence in plan_sentences.clearing_details(its):
        parts.say(sentence)
    rows = plan_tables.clearing_rows(triage, its)
    parts.folded("What would be done", "clearing", rows, alt="What would be done by then", link=False, **WORDS)


def not_met(triage: Triage, why: MustsNotMet) -> None:
    """No plan does all that must be done: what clashes, and the least that would do."""
    parts.say(year_plan.not_met_sentence(why), "answer")
    for words in (plan_sentences.musts_sentence(triage, why.conflict), plan_sentences.together_sentence(why)):
        if words:
            parts.say(words)


def other_budgets(triage: Triage, plan: Plan, results: Any) -> None:
    """What other budgets would prevent, both rules of thumb, the next amount."""
    parts.section("Other budgets", plan_sentences.better_sentence(plan))
    if NEXT in results:
        parts.say(plan_sentences.next_amount_sentence(triage, plan, results[NEXT], asking().next_amount))
    if FRONTIER not in results:
        return
    frame = plan_tables.in_reading_unit(plan, plan_tables.budgets(results[FRONTIER]))
    parts.picture(
        "budgets",
        charts.budgets_chart,
        frame,
        alt="What is prevented with other budgets, by the best plan and by both rules of thumb",
        caption=f"Nine budgets from nothing to twice the money ({plan_tables.money_unit(plan)}), the hours as they are,"
        f" over {plan.horizon:g} years; the upright line is this plan's money. A budget too small for what must be done"
        " has no point.",
    )
    if MORE in results:
        more = plan_tables.in_reading_unit(plan, plan_tables.more_words(results[MORE]))
        parts.folded("A little more of each", "more", more, alt="What a few per cent more of each limit would prevent")


def lines(triage: Triage, plan: Plan, draws: Stability | None) -> None:
    """The schedule; a click in a row opens the line below, with its option and hazards."""
    its = year_plan.schedule(triage, plan)
    its = its if draws is None else year_plan.with_draws(its, draws).with_columns(pl.col("in_draws").round(2))
    its = its.with_columns(title=pl.coalesce("title", "place"))
    rows = plan_tables.in_reading_unit(plan, its.select(n for n in LISTED if n in its.columns))
    parts.section("What is done when", "A click in a row opens the line below. Prevents: % of the collection's value.")
    if draws is not None:
        parts.say(year_plan.draws_sentence(draws))
    asked = plan_fields.line_asked()
    row = parts.picked(f"schedule_{asked}", rows, alt="Treatments and works on places by year", **WORDS)
    if row is not None and (picked := rows["option_id"][row]) != asked:
        plan_fields.ask_line(picked)
        st.rerun()
    if asked:
        one_line(triage, plan, asked)


def one_line(triage: Triage, plan: Plan, option_id: str) -> None:
    """One line of the plan explained."""
    mine = plan.lines.filter(pl.col("option_id") == option_id)
    if mine.is_empty():
        place = plan.places.filter(pl.col("option_id") == option_id)
        none = f"This plan has no line \u2018{option_id}\u2019."
        parts.say(plan_line.place_sentence(triage, plan, option_id) if place.height else none)
        return
    number = mine["object_id"][0]
    titles = dict(triage.collection["object"].select("object_id", "title").iter_rows())
    parts.link_to(number, titles.get(number))
    for sentence in plan_line.line_sentences(triage, plan, option_id):
        parts.say(sentence)
    rows = plan_line.line_hazards(triage, plan, number)
    parts.table("line_hazards", rows, alt=f"Hazards of {number}, either way", link=False)


def limits(triage: Triage, plan: Plan) -> None:
    """What of the money and hours is used."""
    parts.section("Money and hours")
    parts.picture(
        "use",
        charts.use_chart,
        plan_tables.use_shares(plan),
        alt="Money and hours of each year, used of what there is",
        caption="The outline is what is available.",
        headings={"line": "Year, and what", "used": "Used", "share": parts.ONLY_DRAWN},
    )
    use = plan_tables.in_reading_unit(plan, year_plan.use_of_limits(plan))
    parts.folded("What one more would prevent", "limits", use, alt="Money and hours used, with the price of one more",
                 what="Of", used="Used")  # fmt: skip
    taught = plan_tables.hours_taught(triage)
    if not taught.is_empty():
        parts.folded("How long treatments really take", "taught", taught, alt="Hours taken against estimates")
    parts.folded("Which fund pays", "funds", plan_tables.use_of_funds(plan), alt="Funds by year", used="Used")


def undone(triage: Triage, plan: Plan) -> None:
    """What is left undone, with why and what it is expected to lose."""
    rows = year_plan.left_undone(triage, plan)
    words = (
        f"{plan_sentences.undone_sentence(rows)} What would be lost: over {plan.horizon:g} years, if nothing is done."
    )
    parts.section("Left undone", words)
    if not rows.is_empty():
        parts.table("undone", plan_tables.in_reading_unit(plan, rows), alt="Proposals left undone, and why")


def otherwise(plan: Plan) -> None:
    """The plan if the years, the horizon or one group of rates were judged otherwise; worked out when unfolded."""
    with st.expander("If judged otherwise", key="otherwise", on_change="rerun") as fold:
        if not fold.open:
            return
        groups = list(rate_groups(plan.basis.program.situation.hazards["rate_row"]))
        group = st.selectbox("Rates of one kind, too", groups, index=None, key=GROUP, placeholder="None", width=WIDE)
        task = data.judged_otherwise(plan, group or "")
        if not task.wait(plan_work.PATIENCE_S):
            parts.follow(task, "otherwise")
        if OTHERWISE in task.results:
            rows = plan_tables.in_reading_unit(plan, plan_tables.otherwise_words(task.results[OTHERWISE]))
            parts.table("judged", rows, alt="Plans under other judgements", link=False)


def whole(triage: Triage, plan: Plan, results: Any, asked: str) -> None:
    """The plan with all that stands around it."""
    other_budgets(triage, plan, results)
    lines(triage, plan, results.get(DRAWS))
    limits(triage, plan)
    undone(triage, plan)
    otherwise(plan)
    parts.section("Papers", "The page for the director and the workbook hold what stands here, with the same figures.")
    papers.of_plan(triage, plan, asked, results.get(DRAWS))


def answer(triage: Triage, task: Task, result: Plan | MustsNotMet | None) -> None:
    """The answer: the plan in a sentence, why there is none, or what is wrong with what was asked."""
    if task.error is not None:
        parts.say(f"{task.error.what}. {task.error.to_do}", "warn")
    elif isinstance(result, Plan):
        parts.say(year_plan.sentence(result), "answer")
    elif result is not None:
        not_met(triage, result)


def how_far(task: Task, asked: Asked) -> None:
    """How far the work is, with a way to stop it, and to go on."""
    if task.failed:
        raise RuntimeError("the work on the plan ended with a fault")
    if not task.done:
        parts.follow(task, "plan")
    elif task.stopping:
        st.button("Go on with this plan", key="go_on", on_click=data.forget_plan, args=(asked,))


def page(triage: Triage) -> None:
    """The whole page."""
    asked = plan_fields.asked()
    for words in asked.unread:
        parts.say(words, "warn")
    task = task_for(asked)
    task.wait(plan_work.PATIENCE_S)
    shown, of = in_sight(task, asked)
    result = shown.results.get(PLAN)
    answer(triage, task, result)
    before = "" if shown is task else "What follows is the plan that was asked for before. "
    words = plan_sentences.asked_sentence(of, of.question(triage), currency(triage))
    parts.say(before + words)
    plan_fields.draw(triage, asked, currency(triage) or year_plan.MONEY)
    how_far(task, asked)
    plan = result if isinstance(result, Plan) and task.error is None else None
    if plan is not None:
        by_year(plan)
    to_clear(triage, asked)
    if plan is not None:
        whole(triage, plan, shown.results, words)
        plan_accept.draw(triage, plan, asked, ready=shown is task)
    plan_accept.followed(triage)
    plan_asides.draw(triage, asked)


triage = data.state().triage
st.title("Plan", anchor=False)
parts.say(coverage_sentence(triage.coverage()))
page(triage)
