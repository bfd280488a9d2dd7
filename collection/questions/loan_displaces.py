"""What saying yes to a loan displaces: the plan with it next to the plan without it."""

from datetime import date

import polars as pl

from collection.frames import returns
from collection.plan.musts import MustsNotMet
from collection.plan.plan import Plan
from collection.questions.triage import Triage
from collection.questions.words import count, day_in_words, percent
from collection.questions.year_plan import not_met_sentence, worth_words
from schemas.vocabularies import vocabulary

# One treatment or work on a place that the loan moves. without, together: its year in each plan, null where it is in
# none. worth: of the plan it is in, without the loan before with it.
DISPLACED = pl.Schema(
    {"option_id": pl.String, "object_id": pl.String, "title": pl.String, "without": pl.Int32, "together": pl.Int32}
    | {"worth": pl.Float64, "of_loan": pl.Boolean}
)
# A loan that waits for our answer and is still to leave.
TO_ANSWER = pl.Schema({"loan_id": pl.String, "party": pl.String, "leaves_on": pl.Date})
c = pl.col


@returns(TO_ANSWER)
def to_answer(triage: Triage) -> pl.DataFrame:
    """Loans out that wait for an answer and are still to leave, the first to leave first; schema TO_ANSWER."""
    known = triage.collection
    first = known["loan_leg"].group_by("loan_id").agg(leaves_on=c("starts_on").min())
    waits = c("status").is_in(vocabulary("loan_status").terms_where("waits_for_answer"))
    inward = c("direction").is_in(vocabulary("loan_direction").terms_where("roles_swapped"))
    asked = known["loan"].filter(waits, ~inward).join(first, on="loan_id").filter(c("leaves_on") > triage.as_of)
    named = asked.with_columns(party="borrower").sort("leaves_on", "loan_id")
    return named.select(c(n).cast(t) for n, t in TO_ANSWER.items())


@returns(DISPLACED)
def displaced(triage: Triage, without: Plan, together: Plan, asked: tuple[str, ...]) -> pl.DataFrame:
    """Lines that come, go or move if the loan is agreed, those that go first, schema DISPLACED.

    asked : objects that have to be treated before it leaves.
    """
    one, other = (_lines(plan) for plan in (without, together))
    both = one.rename({"year": "without"}).join(
        other.select("option_id", "object_id", together="year", later_worth="worth"),
        on="option_id", how="full", coalesce=True,
    )  # fmt: skip
    moved = both.filter(c("without").ne_missing(c("together"))).with_columns(
        object_id=pl.coalesce("object_id", "object_id_right"), worth=pl.coalesce("worth", "later_worth")
    )
    titles = triage.collection["object"].select("object_id", "title")
    named = moved.join(titles, on="object_id", how="left").with_columns(
        of_loan=c("object_id").is_in(list(asked)).fill_null(value=False)
    )
    ordered = named.sort(c("together").is_not_null(), -c("worth"), "option_id")
    return ordered.select(c(n).cast(t) for n, t in DISPLACED.items())


def _lines(plan: Plan) -> pl.DataFrame:
    places = plan.places.with_columns(object_id=pl.lit(None, pl.String))
    names = ("option_id", "object_id", "year", "worth")
    return pl.concat([plan.lines.select(names), places.select(names)])


def not_ready_sentence(loan_id: str, leaves_on: date, why: MustsNotMet) -> str:
    """*LN 2027/1, leaves 3 May 2027: it cannot be made ready. ...*"""
    return f"{loan_id}, leaves {day_in_words(leaves_on)}: it cannot be made ready. {not_met_sentence(why)}"


def sentence(
    loan_id: str, leaves_on: date, rows: pl.DataFrame, without: Plan, together: Plan, no_option: tuple[str, ...]
) -> str:
    """*LN 2027/1, leaves 3 May 2027: 3 objects are to be treated before; 2 treatments fall out and 1 moves, and 0.004 %
    of the collection's value less is prevented.*
    """
    of_loan = rows.filter("of_loan", c("together").is_not_null())["object_id"].n_unique()
    out = rows.filter(c("together").is_null()).height
    moves = rows.filter(c("together").is_not_null(), c("without").is_not_null()).height
    lost = without.prevented - together.prevented
    amount = worth_words(without, abs(lost)) if without.in_money else f"{percent(abs(lost))} of the collection's value"
    worse = f"the plan prevents {amount} less" if lost >= 0 else f"the plan prevents {amount} more"
    head = f"{loan_id}, leaves {day_in_words(leaves_on)}"
    need = f"{count(of_loan, 'object comes', 'objects come')} into the plan or forward for it"
    gone = f"{count(out, 'line falls', 'lines fall')} out, {count(moves, 'moves', 'move')}"
    rest = f" No option on record would make {', '.join(no_option)} fit to travel." if no_option else ""
    return f"{head}: {need}; {gone}; {worse}.{rest}"
