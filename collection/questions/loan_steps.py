"""How far a loan is, and what falls due next: in words and as a day."""

from collections.abc import Mapping
from datetime import date
from typing import Any

from collection.questions.words import count, day_in_words
from schemas.vocabularies import vocabulary

# How far a loan is, in the order of a sentence; the words a person reads stand in loan_lists.toml.
WAITS, AGREED_TO, GONE, OVER = "waits", "agreed", "gone", "over"
HERE, NOT_NOTED = "Here", "Not noted"
ARRIVES, LEAVES = ("arrives", "was to arrive"), ("leaves", "was to leave")
NO_DAY = {
    WAITS: "no day set for the answer",
    AGREED_TO: "its first day is not recorded",
    GONE: "its last day is not recorded",
}


def phase(row: Mapping[str, Any], day: date) -> str:
    """How far a loan is, by what was noted; where nothing was, by its days."""
    status = vocabulary("loan_status")
    flags = (("off", OVER), ("waits_for_answer", WAITS), ("under_way", GONE))
    noted = next((phase for flag, phase in flags if row["status"] in status.terms_where(flag)), "")
    if noted or row["status"] is not None:
        return noted or AGREED_TO
    if row["back_on"] is not None and row["back_on"] < day:
        return OVER
    return GONE if row["leaves_on"] is not None and row["leaves_on"] <= day else AGREED_TO


def how_far(row: Mapping[str, Any]) -> str:
    """The word for it: of the vocabulary, but that a loan in is here while it is under way."""
    if row["phase"] == GONE and row["inward"]:
        return HERE
    return vocabulary("loan_status").labels().get(row["status"], NOT_NOTED)


def due_next(row: Mapping[str, Any], day: date) -> tuple[date | None, str]:
    """The next day of a loan, and what falls due on it."""
    phase = row["phase"]
    if phase == OVER:
        last = row["back_on"]
        return last, f"its last day was {day_in_words(last)}" if last else "its last day is not recorded"
    on, ahead, past = _due(row)
    return on, _counted(ahead, past, on, day) or NO_DAY[phase]


def _due(row: Mapping[str, Any]) -> tuple[date | None, str, str]:
    """The day, and the words for it before and after it has come."""
    if row["phase"] == WAITS:
        return row["answer_by"], "an answer is due", "an answer was due"
    if row["phase"] == AGREED_TO:
        return row["leaves_on"], *(ARRIVES if row["inward"] else LEAVES)
    if row["moves_on"]:
        return row["moves_on"], f"goes on to {row['moves_to'] or 'its next venue'}", ""
    home = "due back with its lender" if row["inward"] else "due back"
    return row["back_on"], home, f"was {home}"


def _counted(ahead: str, past: str, on: date | None, day: date) -> str:
    """*leaves 16 November 2026, in 47 days*; *was due back 3 May 2026, 150 days ago*; empty without a day."""
    if on is None:
        return ""
    days = (on - day).days
    if days < 0:
        return f"{past} {day_in_words(on)}, {count(-days, 'day')} ago"
    when = f"in {count(days, 'day')}" if days else "today"
    return f"{ahead} {day_in_words(on)}, {when}"
