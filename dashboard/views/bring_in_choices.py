"""What a file, its sheets and its headings are taken for, shown so that a person can choose otherwise."""

import html
from collections.abc import Callable, Mapping, Sequence
from typing import Any

import streamlit as st

from collection.intake.choosing import UNDECIDED, FileChoice, SheetChoice, records_in_words
from collection.intake.mapping.mapping import EXAMPLES, LONGEST_EXAMPLE, LoggerAnswers
from collection.intake.mapping.targets import target_of, target_words
from collection.intake.sheet_questions import ORDER
from dashboard import data, text
from dashboard.bringing_in import Draft, look_again
from dashboard.views import parts

MOST_HEADINGS = 80  # drawn of one kind
WIDE = 460  # pixels of a field


def draw(its: Draft) -> None:
    """Each sheet with what it is taken for, its headings and its questions; then those of a logger's file."""
    choice = its.choice
    if choice is None:
        return
    for number, sheet in enumerate(choice.sheets):
        _sheet(its, choice, number, sheet)
    if choice.questions:
        parts.section("Questions", "A logger's file does not say this itself; the answer is remembered for the logger.")
    if answered := choice.answers.in_words():
        parts.say(f"You answered: {answered}.")
        st.button(
            "Answer again", key=f"{its.number}_again", on_click=look_again, args=(its, data.store(), LoggerAnswers())
        )
    for at, question in enumerate(choice.questions):
        _logger_question(its, f"{its.number}_logger_{at}", question.key, _capital(str(question)), question.choices)


def _sheet(its: Draft, choice: FileChoice, number: int, sheet: SheetChoice) -> None:
    several = len(choice.sheets) > 1
    parts.section(f"What sheet \u2018{sheet.sheet.name}\u2019 holds" if several else "What it holds", sheet.why)
    key = f"{its.number}_{number}"
    if sheet.of_logger:
        return
    chosen = None if sheet.others or (sheet.record == UNDECIDED and not several) else sheet.record
    words = records_in_words()
    _field(
        "It is",
        f"{key}_record",
        list(words),
        words,
        chosen,
        lambda value: _put(its, number, _now(its, number).as_record(value or "")),
    )
    if sheet.record == UNDECIDED or sheet.others:
        return
    _questions(its, key, number, sheet)
    _headings(its, key, number, sheet)
    for fault in sheet.faults:
        parts.say(fault, "warn")


def _questions(its: Draft, key: str, number: int, sheet: SheetChoice) -> None:
    """What the sheet leaves open; what is not answered stays unread and is said."""
    if sheet.questions:
        first = "Days have to be told apart first. " if any(q.part == ORDER for q in sheet.questions) else ""
        parts.section("Questions", f"{first}What you leave open is not read: those cells stay empty, and are listed.")
    for question in sheet.questions:
        _field(
            question.words,
            f"{key}_q_{question.part}_{question.column}_{question.written}",
            list(question.choices),
            question.choices,
            question.answer(sheet.mapping) or None,
            lambda value, q=question: _put(its, number, _now(its, number).with_answer(q, value or "")),  # type: ignore[misc]
        )


def _headings(its: Draft, key: str, number: int, sheet: SheetChoice) -> None:
    """Every heading with some of its values and what it is taken for; those that are not used unfold."""
    targets = {h: target_of(sheet.mapping, h) for h in sheet.sheet.headings}
    used, unused = [h for h in targets if targets[h]], [h for h in targets if not targets[h]]
    parts.section("What each heading means")
    _rows(its, key, number, sheet, used, targets)
    if unused:
        label = f"{len(unused)} {'heading is' if len(unused) == 1 else 'headings are'} not used"
        with st.expander(label, key=f"{key}_unused", expanded=not used):
            _rows(its, key, number, sheet, unused, targets)


def _rows(
    its: Draft, key: str, number: int, sheet: SheetChoice, headings: Sequence[str], targets: Mapping[str, str]
) -> None:
    words, shown = target_words(sheet.record), sheet.sheet.examples(EXAMPLES)
    for heading in headings[:MOST_HEADINGS]:
        left, right = st.columns([2, 3], vertical_alignment="center")
        with left:
            values = " \u00b7 ".join(value[:LONGEST_EXAMPLE] for value in shown[heading])
            st.html(f"<p class='said'><b>{html.escape(heading)}</b><br>{html.escape(values)}</p>")
        with right:
            _field(
                "",
                f"{key}_h_{sheet.record}_{heading}",
                list(words),
                words,
                targets[heading],
                lambda value, h=heading: _put(its, number, _now(its, number).with_target(h, value or "")),  # type: ignore[misc]
                name=f"What \u2018{heading}\u2019 means",
            )
    if len(headings) > MOST_HEADINGS:
        parts.say(f"And {len(headings) - MOST_HEADINGS} more; a mapping file reaches them (`enamels intake --help`).")


def _logger_question(its: Draft, key: str, of: tuple[str, ...], words: str, choices: Sequence[str]) -> None:
    """A question of a logger's file, by choosing where the answers can be listed, else by typing."""

    def answered(value: str | None) -> None:
        if its.choice is not None and value:
            look_again(its, data.store(), its.choice.answers.with_answer(of, value))

    if choices:
        _field(words, key, list(choices), {c: c for c in choices}, None, answered, free=True)
    else:
        st.html(text.paragraph(words, "field"))
        st.text_input(
            text.spoken(words), key=key, label_visibility="collapsed", on_change=lambda: answered(st.session_state[key])
        )


def _field(
    label: str,
    key: str,
    options: list[str],
    words: Mapping[str, str],
    value: str | None,
    chosen: Callable[[str | None], Any],
    *,
    name: str = "",
    free: bool = False,
) -> None:
    """A field to choose in. The draft is the truth: the field shows it, and writes it when somebody chooses.

    `label` stands above it; where it is empty, `name` is what who listens to the page is told of the field.
    """
    if label:
        st.html(text.paragraph(label, "field"))
    st.session_state[key] = value
    st.selectbox(
        text.spoken(label or name),
        options,
        index=None,
        key=key,
        format_func=lambda option: words.get(option, option),
        placeholder="Choose",
        label_visibility="collapsed",
        accept_new_options=free,
        on_change=lambda: chosen(st.session_state[key]),
    )


def _capital(words: str) -> str:
    return f"{words[:1].upper()}{words[1:]}"


def _now(its: Draft, number: int) -> SheetChoice:
    """The sheet as it is chosen at this moment."""
    if its.choice is None:
        raise LookupError(its.name)
    return its.choice.sheets[number]


def _put(its: Draft, number: int, sheet: SheetChoice) -> None:
    if its.choice is not None:
        its.choice = its.choice.with_sheet(number, sheet)
