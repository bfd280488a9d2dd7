"""Everything the register knows of one object."""

from datetime import date

import polars as pl
import streamlit as st

from collection.intake.as_written import as_written
from collection.questions import cautions, growth, history, how_sure, object_record, ranking, travel
from collection.questions.explain import explain, lines_to_read, risk_sentence, share_words
from collection.questions.triage import Triage
from collection.recording.actions import Done, record_action
from dashboard import charts, data, filters, text, theme
from dashboard.views import papers, parts
from schemas.vocabularies import vocabulary

LISTED = "views/storeroom.py"
ANSWER = "action_answer"  # key of the session
MEASURED = {
    "label": "Damage", "damage_id": parts.ONLY_DRAWN, "unit": parts.ONLY_DRAWN, "series": parts.ONLY_DRAWN,
    "seen_on": "Checked on", "size_unit": "Measured", "what": "Against the measurement before",
}  # fmt: skip
DRAWN_UP_TO = 2000  # objects of a collection up to which the starting values are drawn while a person waits


def choose(triage: Triage) -> str:
    """The object the address names; a way to name another, before anything else where none is shown."""
    asked = st.query_params.get(filters.OBJECT, "")
    known = asked in triage.objects[filters.OBJECT]
    if asked and not known:
        parts.say(f"The address asks for object '{asked}', and the register has no object of this number.", "warn")
    where = st.sidebar if known else st
    label, hint = "Object number", "As the museum writes it"
    where.text_input(label, key="object_number", placeholder=hint, on_change=filters.to_object)
    return asked if known else ""


def answer(triage: Triage, object_id: str) -> None:
    """What comes before anything else; class, reasons, first steps; the loss expected."""
    row = triage.with_reasons(triage.objects.filter(object_id=object_id)).row(0, named=True)
    why = "; ".join(row["reasons"] or ()) or "nothing is recorded against it"
    heed = ranking.one(triage, object_id)["heed"]
    if heed:
        parts.say(text.sentence(heed), "warn")
    parts.say(f"{theme.marked(row['attention'])}. {text.sentence(why)}", "answer")
    for step in row["steps"] or ():
        parts.say(f"First: {step}.")
    parts.say(text.sentence(risk_sentence(triage, object_id)))


def travels(triage: Triage, object_id: str) -> None:
    """May it travel? Verdict, reasons, what would make it fit; how it is held and shown; its papers."""
    row = travel.one(triage, object_id)
    parts.section("May it travel?", travel.for_what(row))
    parts.say(travel.verdict_sentence(row))
    for words in travel.what_to_do(row):
        parts.say(words)
    needs = object_record.requirement(triage, object_id)
    if not needs.is_empty():
        st.html(text.heading("How it is held and shown", level=3) + text.facts(list(needs.iter_rows())))
    papers.of_object(triage, object_id, row["loan_id"])


def act(triage: Triage, object_id: str) -> None:
    """A form for what was done at once, where something calls for it."""
    if triage.objects.filter(object_id=object_id)["attention"][0] not in triage.now:
        return
    rows = triage.reasons_of(pl.Series([object_id])).filter(pl.col("hazard_id").is_not_null())
    causes = {"": "All of it"} | dict(rows.select("hazard_id", "reason").iter_rows())
    labels = vocabulary("action").labels()
    with st.expander("Write down what was done at once", key="act_fold", on_change="rerun"), st.form("act"):
        answers = st.selectbox("What it answers", list(causes), format_func=lambda key: causes[key])
        what = st.selectbox("What was done", list(labels), format_func=lambda key: labels[key])
        by = st.text_input("Your name", key="act_by", placeholder="Who did it")
        on = st.date_input("Day", value=triage.as_of, key="act_on")
        note = st.text_input("Note", key="act_note", placeholder="Which box, which place")
        if st.form_submit_button("Write it down"):
            done = Done(object_id, what, on, by, answers=answers, note=note)
            st.session_state[ANSWER] = record_action(data.store(), done, today=max(date.today(), triage.as_of))
            st.rerun()


def people(triage: Triage, object_id: str) -> None:
    """What to keep away from it: its own cautions in full, those of every object folded."""
    kinds = object_record.kinds(triage, object_id)
    own, every = cautions.cautions(kinds, own_only=True), cautions.cautions(kinds)
    parts.section("Before it is touched", cautions.defer())
    st.html(
        text.facts([(row["caution"], f"{row['keep_away']} ({row['because']})") for row in own.iter_rows(named=True)])
    )
    label = "Usual cautions for any enamel, with whom to ask and how sure they are"
    parts.folded(label, "cautions", every, alt="Dangers to people and what is kept away from such an object")


def why(triage: Triage, object_id: str) -> None:
    """What the expected loss is made of, and how sure its place in the list is."""
    explained = explain(triage, object_id)
    rows = explained.select("contribution", "words", "assumed")
    parts.section("Why this priority")
    if rows.is_empty():
        parts.say("Nothing on record that could cost it material.")
        return
    st.html(text.facts([(share_words(part), words) for part, words in lines_to_read(explained)]))
    if triage.objects.height <= DRAWN_UP_TO:
        parts.say(how_sure.row_sentence(data.drawn(triage), object_id))
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
        alt, reason = "Parts and sides that no check has seen", "Why it was not seen"
        parts.table("not_seen", missed, alt=alt, link=False, why=reason)


def grows(triage: Triage, object_id: str) -> None:
    """Size of each damage that was measured more than once, with the error of each measurement."""
    rows = growth.growths(triage, object_id)
    if rows.is_empty():
        return
    parts.section("Does it grow?")
    for words in growth.sentences(rows):
        parts.say(words)
    parts.pictures(
        "growth", charts.growth_chart, rows, "label", columns=2,
        alt="Size against time with the error of each measurement",
        caption=growth.error_sentence(rows), headings=MEASURED,
    )  # fmt: skip


def records(triage: Triage, object_id: str) -> None:
    """All rows of all records, folded into four."""
    parts.section("All that is on record")
    for title, names in object_record.grouped_records().items():
        tables = {name: object_record.rows_of(triage, name, object_id) for name in names}
        filled = {name: rows for name, rows in tables.items() if not rows.is_empty()}
        if not filled:
            continue
        label = f"{title}, {sum(rows.height for rows in filled.values())}"
        with st.expander(label, key=f"fold_{title}", on_change="rerun") as fold:
            if fold.open:
                for name, rows in filled.items():
                    st.html(text.heading(object_record.title_of_record(name), level=3))
                    parts.table(f"record_{name}", rows, alt=object_record.title_of_record(name), link=False)


def written(triage: Triage, object_id: str) -> None:
    """The rows of the files it came from, as they were written."""
    with st.expander("As it was written in the files", key="fold_written", on_change="rerun") as fold:
        if fold.open:
            rows = as_written(data.store().path, triage.collection, object_id)
            if not rows:
                parts.say("None of its records came from a file.")
            for row in rows:
                st.html(text.heading(row.title, level=3) + text.facts(list(row.cells)))


triage = data.state().triage
object_id = filters.object_asked(triage)
title = object_record.title(triage, object_id)
st.title(text.escaped(f"{object_id}  {title}") if object_id else "Object", anchor=False)
st.page_link(LISTED, label="Back to the list", query_params=filters.query())
if choose(triage) and object_id:
    if words := st.session_state.pop(ANSWER, ""):
        parts.say(words, "warn")
    answer(triage, object_id)
    act(triage, object_id)
    travels(triage, object_id)
    people(triage, object_id)
    why(triage, object_id)
    seen(triage, object_id)
    grows(triage, object_id)
    parts.section("What it is")
    st.html(text.facts(list(object_record.in_words(triage, object_id).iter_rows())))
    records(triage, object_id)
    written(triage, object_id)
elif not st.query_params.get(filters.OBJECT):
    parts.say("Name an object by its number, or choose one in the storeroom's list.")
