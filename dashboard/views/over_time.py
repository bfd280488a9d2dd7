"""What really got worse, and what only looked so."""

from collections.abc import Callable
from datetime import date

import polars as pl
import streamlit as st

from collection.learning.back_test import later_day
from collection.questions import (
    changed_since,
    damage_over_time,
    grades_over_time,
    over_time,
    repairs_last,
    stories_over_time,
)
from collection.questions.damage_over_time import Watched
from collection.questions.over_time import OverTime
from collection.questions.triage import Triage
from collection.trends.damage_rates import COUNTS, GROUPS
from collection.trends.examiners import Decline
from dashboard import charts, data, filters
from dashboard.views import parts, trend_data

FROM, TO, SINCE = "from", "to", "since"  # in the address
WHOLE_YEAR = -1
COUNT_LABELS = {"new damage": "New damage", "activation": "Began to move", "loss": "Lost material, or grew"}
SHOWN = 12  # groups of a forest; the rest are in its figures


def asked_day(name: str) -> date | None:
    """A day of the address; what is no day is said."""
    written = st.query_params.get(name, "")
    try:
        return date.fromisoformat(written) if written else None
    except ValueError:
        parts.say(f"The address asks for '{written}', and that is no day; write it as 2021-09-30.", "warn")
        return None


def day_field(label: str, name: str, shown: date, latest: date) -> None:
    """A field for a day, as the address says; what is chosen is written into the address."""
    key = f"over_{name}"
    st.session_state[key] = min(shown, latest)
    write: Callable[[], None] = lambda: st.query_params.update({name: f"{st.session_state[key]:%Y-%m-%d}"})  # noqa: E731
    st.date_input(label, key=key, min_value=date(1900, 1, 1), max_value=latest, on_change=write)


def grades(its: OverTime) -> None:
    """Grades then and now, as written beside what is left after allowing for who looked."""
    parts.section("Grades then and now")
    parts.say(over_time.span_sentence(its))
    if not its.matched_rows.is_empty():
        parts.picture(
            "moves",
            charts.moves_chart,
            grades_over_time.grade_moves(its),
            alt="Objects graded in both by grade then and now, with the number in each cell",
            caption=f"{its.matched_rows.height:,} objects; an arrow down is worse, an arrow up better. The tone is the"
            " share of those of the grade then.",
        )
        both, words = grades_over_time.both_grades(its), "Objects of each grade at both ends, in both beside all"
        parts.folded("Compared with all that were graded", "both_grades", both, alt=words, label="Grade")
    ahead = grades_over_time.grades_ahead(its)
    for words in (over_time.raw_sentence(its), over_time.apart_sentence(its), grades_over_time.ahead_sentence(its)):
        if words:
            parts.say(words)
    if not ahead.is_empty():
        alt = "Objects of each grade or worse, now and some years ahead"
        parts.folded("Grades ahead", "ahead", ahead, alt=alt, label="Grade")


def examiners(its: OverTime) -> None:
    """Who grades how strictly, or why it cannot be told."""
    parts.section("Who looked", grades_over_time.examiners_sentence(its))
    if isinstance(its.decline, Decline):
        parts.picture(
            "examiners",
            charts.examiners_chart,
            grades_over_time.examiners(its),
            alt="How much worse or better than the yardstick each examiner grades, with limits",
            caption=f"{its.decline.grades:,} grades of {its.visits['object_id'].n_unique():,} objects; lines hold 95 %."
            f" Method: {its.decline.method}.",
        )
        parts.say(grades_over_time.KNOWN_WEAKNESSES)


def where_and_when(triage: Triage, rows: pl.DataFrame, start: date | None, end: date | None) -> Watched:
    """What stands out, the rooms side by side, and each story with its place and air on one axis."""
    hours = trend_data.hours()
    watched = damage_over_time.watched_of(triage, rows, start, end)
    standing_out = stories_over_time.cells_standing_out(triage, watched, hours)
    parts.section("Where and when more damage came than chance explains")
    for words in stories_over_time.story_sentences(watched, standing_out):
        parts.say(words)
    by_room = damage_over_time.room_years(triage, watched)
    if by_room.is_empty():
        return watched
    parts.pictures(
        "rooms", charts.room_chart, by_room, "name", columns=2,
        alt="New and newly moving damage per 100 object-years by year of the check",
        caption="Damage seen for the first time that was not there before, or seen to begin to move, per 100"
        " object-years, by the year of the check that ended the span. Lines are exact 95 % limits (Garwood 1936), cut"
        " at the edge; a triangle stands out. Some objects fare worse in any room, so what stands out has to do so"
        " against other years of the same room and technique as well.",
    )  # fmt: skip
    axis = stories_over_time.story_axis(triage, watched, standing_out, hours)
    if not axis.is_empty():
        parts.pictures(
            "axis", charts.axis_chart, axis, "name",
            alt="Damage, faults of the place and air beyond limits on one axis of time",
            caption="Dots: damage by the quarter of the check that saw it, its number where more than two. Bars below:"
            " share of the hours of each month beyond the limits to which the damage named above answers (starting"
            " values, judgement).",
        )  # fmt: skip
    return watched


def how_often(triage: Triage, watched: Watched) -> None:
    """Rates with limits by what a person chooses."""
    parts.section("How often", damage_over_time.handled_sentence(watched))
    left, right = st.columns(2)
    count = left.selectbox("What", list(reversed(COUNTS)), key="rate_of", format_func=COUNT_LABELS.__getitem__)
    group = right.selectbox("By", GROUPS, key="rate_by", format_func=str.capitalize)
    frame = damage_over_time.rates_by(triage, watched, group).filter(pl.col("count") == count)
    if frame.is_empty():
        parts.say("Nothing was watched between two checks: there is no rate.")
        return
    years = "object-years" if count == COUNTS[-1] else "years in which a damage was watched"
    parts.picture(
        "forest", charts.forest_chart, frame.head(SHOWN) if group != "year" else frame,
        alt=f"{COUNT_LABELS[count]} per 100 years by {group}, with limits",
        caption=f"Per 100 {years}; lines are exact 95 % limits (Garwood 1936)."
        + (f" The {SHOWN} with most of {frame.height}." if frame.height > SHOWN and group != "year" else ""),
    )  # fmt: skip
    parts.folded("Every group", "every_rate", frame, alt="Every rate with its limits")


def repairs(triage: Triage, rows: pl.DataFrame) -> None:
    """How long repairs last."""
    its = repairs_last.repairs_last(triage, rows)
    parts.section("How long repairs last")
    for words in repairs_last.sentences(its):
        parts.say(words)
    curves, rates = repairs_last.curves(its), repairs_last.failure_rates(its)
    if not curves.is_empty():
        parts.pictures(
            "curves", charts.curve_chart, curves, "group", columns=2,
            alt="Share of repairs that lasts at each age",
            caption="Steps: Turnbull's estimate, open where the data do not say. Broken line and band: a Weibull curve"
            " with its 90 % limits from resampled objects. Small figures: repairs under observation.",
        )  # fmt: skip
    if not rates.is_empty():
        parts.picture(
            "failures", charts.forest_chart, rates.head(SHOWN),
            alt="Failures of repairs per 100 repair-years since each was first seen, with limits",
            caption="Failures per 100 repair-years since each was first seen; 90 % limits by the likelihood ratio."
            f" {repairs_last.PEOPLE_REMOVE}",
        )  # fmt: skip
        parts.folded("Every group of repairs", "every_repair", repairs_last.lasting(its), alt="How long repairs last")


def changed(triage: Triage, rows: pl.DataFrame, since: date) -> None:
    """What changed since a day, shelf by shelf."""
    parts.section("What changed since a day")
    day_field("Since", SINCE, since, triage.as_of)
    parts.say(changed_since.sentence(triage, rows, since))
    frame = changed_since.changed_since(triage, rows, since)
    if not frame.is_empty():
        parts.table("changed", frame, alt="What changed on each shelf since the day", link=False)


state = data.state()
triage, rows = state.triage, filters.chosen(state.triage)
start, end = asked_day(FROM), asked_day(TO)
if start and end and start >= end:
    parts.say(f"The address asks for the time from {start} to {end}, which is none; all is shown.", "warn")
    start = end = None
its = trend_data.over_time(filters.asked(), start, end)
parts.head(triage, "Over time", over_time.first_sentence(its))
left, right = st.columns(2)
with left:
    day_field("From about", FROM, its.start, triage.as_of)
with right:
    day_field("To about", TO, its.end, triage.as_of)
grades(its)
examiners(its)
watched = where_and_when(triage, rows, start, end)
how_often(triage, watched)
repairs(triage, rows)
changed(triage, rows, asked_day(SINCE) or later_day(triage.as_of, WHOLE_YEAR))
