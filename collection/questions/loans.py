"""Loans: how far each is, and what falls due next; asked for, promised, away and due back, by that day."""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

import polars as pl

from collection.facts.facts import Facts
from collection.frames import returns
from collection.loans.rules import FIT, NOT_FIT, verdicts
from collection.questions.triage import Triage
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
LOANS = pl.Schema(
    [(n, pl.String()) for n in ("loan_id", "phase", "how_far", "party", "purpose", "next")]
    + [(n, pl.Date()) for n in ("next_on", "leaves_on", "back_on", "answer_by")]
    + [("inward", pl.Boolean())]
    + [(n, pl.UInt32()) for n in ("objects", "fit", "conditions", "not_fit")]
)
NO_LOAN = "No loan is asked for, promised or away."
c = pl.col


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


@returns(LOANS)
def loans(triage: Triage) -> pl.DataFrame:
    """One row a loan, by the next day something falls due, those that are over last; schema LOANS.

    objects: how many are on it. fit, conditions, not_fit: of them, as recorded; null once they have left, and where it
    is over. inward: a loan in.
    """
    known = _with_days(triage)
    phases = pl.Series([phase(row, triage.as_of) for row in known.iter_rows(named=True)], dtype=pl.String)
    rows = known.with_columns(phase=phases)
    due = [due_next(row, triage.as_of) for row in rows.iter_rows(named=True)]
    words = rows.with_columns(
        how_far=pl.Series([how_far(row) for row in rows.iter_rows(named=True)], dtype=pl.String),
        next_on=pl.Series([day for day, _ in due], dtype=pl.Date),
        next=pl.Series([words for _, words in due], dtype=pl.String),
    )
    counted = words.join(_counts(triage, rows), on="loan_id", how="left", maintain_order="left")
    ordered = counted.sort(c("phase") == OVER, "next_on", "loan_id", nulls_last=True)
    return ordered.select(c(n).cast(t) for n, t in LOANS.items())


def answer(listed: pl.DataFrame) -> str:
    """*1 loan is asked for and waits for an answer until 31 October 2026; 1 loan is promised: leaves ...*

    listed : schema LOANS.
    """
    rows = [listed.filter(c("inward") == inward, c("phase") == each) for inward in (False, True) for each in SENTENCES]
    sentences = [SENTENCES[its["phase"][0]](its) for its in rows if its.height]
    if not sentences:
        return NO_LOAN if listed.height else "No loan is on record."
    return f"{'; '.join(sentences)}."


def not_packed(unfit: int, objects: int, whose: str = "its") -> str:
    """*2 of its 4 objects are not to be packed as recorded*."""
    if not objects:
        return "no object is on it"
    if objects == 1:
        return f"{whose} one object {'is not to be packed as recorded' if unfit else 'may travel'}"
    if not unfit or unfit == objects:
        each = f"{whose} {count(objects, 'object')}"
        return f"none of {each} is to be packed as recorded" if unfit else f"{each} may all travel"
    return f"{unfit:,} of {whose} {objects:,} objects {'is' if unfit == 1 else 'are'} not to be packed as recorded"


def _with_days(triage: Triage) -> pl.DataFrame:
    """Every loan with its first and last day, the next venue, and the number of its objects."""
    collection, coming = triage.collection, c("starts_on") > triage.as_of
    days = collection["loan_leg"].sort("loan_id", "starts_on").group_by("loan_id", maintain_order=True).agg(
        leaves_on=c("starts_on").min(), back_on=c("ends_on").max(),
        moves_on=c("starts_on").filter(coming).first(), moves_to=c("venue").filter(coming).first(),
    )  # fmt: skip
    objects = collection["loan_object"].group_by("loan_id").agg(objects=c("object_id").n_unique())
    swapped = c("direction").is_in(vocabulary("loan_direction").terms_where("roles_swapped"))
    known = collection["loan"].select("loan_id", "status", "purpose", "answer_by", party="borrower", inward=swapped)
    joined = known.join(days, on="loan_id", how="left").join(objects, on="loan_id", how="left")
    return joined.with_columns(c("objects").fill_null(0)).sort("loan_id")


def _counts(triage: Triage, rows: pl.DataFrame) -> pl.DataFrame:
    """loan_id, fit, conditions, not_fit of loans that have not left.

    Judged once for the next loan of every object; what a further loan asks for is judged for that one too.
    """
    ahead = rows.filter(c("phase").is_in([WAITS, AGREED_TO])).select("loan_id")
    asked = triage.collection["loan_object"].select("loan_id", "object_id").unique()
    pairs = asked.join(ahead, on="loan_id", how="semi")
    judged = _judged(triage, pairs, None)
    rest = pairs.join(judged, on=["loan_id", "object_id"], how="anti")
    more = [_judged(triage, its, loan_id) for (loan_id,), its in rest.partition_by("loan_id", as_dict=True).items()]
    fit, unfit = (c("verdict") == FIT).sum(), (c("verdict") == NOT_FIT).sum()
    by_loan = pl.concat([judged, *more]).group_by("loan_id")
    return by_loan.agg(fit=fit, not_fit=unfit, conditions=pl.len() - fit - unfit)


def _judged(triage: Triage, pairs: pl.DataFrame, loan_id: str | None) -> pl.DataFrame:
    """loan_id, object_id, verdict of those pairs that are judged for this loan, or for the next of each object."""
    only: Sequence[str] = pairs["object_id"].unique().to_list()
    facts = Facts(triage.collection, triage.risk, triage.rates, only=only, loan_id=loan_id)
    judged = verdicts(facts).join(facts.leaves.select("object_id", "loan_id"), on="object_id")
    mine = judged.join(pairs.lazy(), on=["object_id", "loan_id"], how="semi")
    return mine.select("loan_id", "object_id", "verdict").collect(engine="in-memory")


def _waits(rows: pl.DataFrame) -> str:
    first = rows["answer_by"].min()
    until = f" until {day_in_words(first)}" if isinstance(first, date) else ""
    which = " and" if rows.height == 1 else ", the first"
    return f"{_loans(rows)} {_verb(rows)} asked for{which} waits for an answer{until}"


def _agreed_to(rows: pl.DataFrame) -> str:
    unfit, objects = int(rows["not_fit"].sum()), int(rows["objects"].sum())
    whose = "its" if rows.height == 1 else "their"
    return f"{_loans(rows)} {_verb(rows)} promised{_first(rows)}, {not_packed(unfit, objects, whose)}"


def _gone(rows: pl.DataFrame) -> str:
    where = "here" if rows["inward"][0] else "away"
    return f"{_loans(rows)} {_verb(rows)} {where}{_first(rows)}"


def _first(rows: pl.DataFrame) -> str:
    """*: due back 3 May 2026, in 20 days*; of several, of the first."""
    return f"{':' if rows.height == 1 else ', the first'} {rows['next'][0]}"


def _verb(rows: pl.DataFrame) -> str:
    return "is" if rows.height == 1 else "are"


def _loans(rows: pl.DataFrame) -> str:
    return count(rows.height, "loan in", "loans in") if rows["inward"][0] else count(rows.height, "loan")


SENTENCES = {WAITS: _waits, AGREED_TO: _agreed_to, GONE: _gone}  # in the order of the sentence
