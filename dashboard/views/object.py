"""Everything the register knows of one object."""

import polars as pl
import streamlit as st

from collection.questions import cautions, history, object_record, ranking
from collection.questions.explain import explain, risk_sentence, told
from collection.questions.triage import Triage
from dashboard import charts, data, filters, text, theme
from dashboard.views import parts

LISTED = "views/storeroom.py"


def choose(triage: Triage) -> str:
    """The object the address names; a way to name another."""
    asked = st.query_params.get(filters.OBJECT, "")
    label, hint = "Object number", "As the museum writes it"
    st.sidebar.text_input(label, key="object_number", placeholder=hint, on_change=filters.to_object)
    if asked and asked not in triage.objects[filters.OBJECT]:
        parts.say(f"The address asks for object '{asked}', and the register has no object of this number.", "warn")
        return ""
    return asked


def answer(triage: Triage, object_id: str) -> None:
    """Class, risk in words, reasons, first step."""
    row = triage.with_reasons(triage.objects.filter(object_id=object_id)).row(0, named=True)
    why = "; ".join(row["reasons"] or ()) or "nothing is recorded against it"
    heed = ranking.one(triage, object_id)["heed"]
    if heed:
        parts.say(text.sentence(heed), "warn")
    parts.say(f"{theme.marked(row['attention'])}. {text.sentence(why)}", "answer")
    for step in row["steps"] or ():
        parts.say(f"First: {step}.")
    parts.say(text.sentence(risk_sentence(triage, object_id)))


def people(triage: Triage, object_id: str) -> None:
    """Dangers to people, what to keep away from it."""
    rows = cautions.cautions(object_record.kinds(triage, object_id))
    parts.section("Before it is touched", cautions.defer())
    st.html(
        text.facts([(row["caution"], f"{row['keep_away']} ({row['because']})") for row in rows.iter_rows(named=True)])
    )
    label = "As a table, with whom to ask and how sure it is"
    parts.folded(label, "cautions", rows, alt="Dangers to people and what is kept away from such an object")


def why(triage: Triage, object_id: str) -> None:
    """What the rank is made of."""
    explained = explain(triage, object_id)
    rows = explained.select("contribution", "words", "assumed")
    parts.section("Why this priority")
    if rows.is_empty():
        parts.say("Nothing on record that could cost it material.")
        return
    st.html(text.facts([(text.share(part), words) for part, words in told(explained)]))
    parts.say(
        "Shares of the expected loss. Starting years and depths are judgement; the museum replaces or learns them."
    )
    parts.folded("As a table, with what was assumed", "why", rows, alt="What contributes to the risk, largest first")


def seen(triage: Triage, object_id: str) -> None:
    """History on a time axis; what was never examined."""
    parts.section("What happened to it")
    events = history.events(triage, object_id)
    if events.is_empty():
        parts.say("Nobody has checked it yet, and nothing was done to it.")
    else:
        alt = "Checks, damage, repairs, treatments, decisions and moves on a time axis"
        caption = "Each mark is one check, act or decision; a line shows that only a month, year or span is known."
        parts.picture("history", charts.history_chart, events, alt=alt, caption=caption)
    parts.section("What was never examined")
    missed = object_record.not_seen(triage, object_id)
    parts.say(object_record.not_seen_sentence(triage, object_id))
    if not missed.is_empty():
        parts.table("not_seen", missed, alt="Parts and sides that no check has seen", link=False)


def records(triage: Triage, object_id: str) -> None:
    """All rows of all records, as plain tables."""
    parts.section("All that is on record")
    for record in object_record.records_of_objects():
        rows: pl.DataFrame = object_record.rows_of(triage, record, object_id)
        if not rows.is_empty():
            title = object_record.title_of_record(record)
            parts.folded(f"{title}, {rows.height}", f"record_{record}", rows, alt=title)


triage = data.state().triage
object_id = filters.object_asked(triage)
title = object_record.title(triage, object_id)
st.title(text.escaped(f"{object_id}  {title}") if object_id else "Object", anchor=False)
st.page_link(LISTED, label="Back to the list", query_params=filters.query())
if choose(triage) and object_id:
    answer(triage, object_id)
    people(triage, object_id)
    why(triage, object_id)
    seen(triage, object_id)
    parts.section("What it is")
    st.html(text.facts(list(object_record.identity(triage, object_id).iter_rows())))
    records(triage, object_id)
elif not st.query_params.get(filters.OBJECT):
    parts.say("Name an object by its number, or choose one in the storeroom's list.")
