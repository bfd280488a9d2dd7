"""One loan: may its objects travel, what was agreed beside what they need, what is to be done before packing."""

from collections.abc import Mapping
from typing import Any

import polars as pl

from collection.frames import returns
from collection.loans.limits import fit_words, limits, span
from collection.loans.parameters import travel_words
from collection.loans.rules import NOT_FIT, open_lines
from collection.questions.loans import GONE, OVER, not_packed
from collection.questions.travel import because_words, effort_words, travel
from collection.questions.triage import Triage
from collection.questions.words import count

LENT = pl.Schema(
    dict.fromkeys(("object_id", "title", "crate_no", "verdict", "verdict_words", "because"), pl.String)
    | dict.fromkeys(("fit_when", "takes", "time"), pl.String)
)
AGREED = pl.Schema(
    dict.fromkeys(("object_id", "quantity", "agreed", "needs", "fits", "reason"), pl.String)
    | {"conflict": pl.Boolean, "bridged": pl.Boolean}
)
OPEN = pl.Schema(dict.fromkeys(("object_id", "before_packing"), pl.String))
c = pl.col


@returns(LENT)
def lent(triage: Triage, loan_id: str) -> pl.DataFrame:
    """The objects of one loan, those that are not fit first, schema LENT; all in words.

    takes: hours, and the money for materials where an estimate names it. time: whether it can be done before it leaves.
    """
    of_loan = triage.collection["loan_object"].filter(c("loan_id") == loan_id)
    first = of_loan.unique("object_id", keep="first", maintain_order=True).select("object_id", "crate_no")
    rows = travel(triage, first["object_id"].to_list(), loan_id)
    worded = rows.with_columns(
        because=pl.Series([because_words(row) for row in rows.iter_rows(named=True)], dtype=pl.String),
        takes=pl.Series([effort_words(row) for row in rows.iter_rows(named=True)], dtype=pl.String),
        fit_when=c("fit_when").list.join("; "),
    )
    worst_first = {verdict: -turn for turn, verdict in enumerate(travel_words().verdict)}
    turn = c("verdict").replace_strict(worst_first, return_dtype=pl.Int64)
    crated = worded.join(first, on="object_id", how="left", maintain_order="left").sort(turn, "object_id")
    return crated.select(c(n).cast(t) for n, t in LENT.items())


@returns(AGREED)
def agreed(triage: Triage, loan_id: str) -> pl.DataFrame:
    """What was agreed beside what each object needs, conflicts first, schema AGREED; without what nobody set."""
    mine = limits(triage.collection).filter(c("loan_id") == loan_id)
    known = pl.any_horizontal(c("agreed_low", "agreed_high", "needs_low", "needs_high").is_not_null())
    rows = mine.filter(known).with_columns(agreed=span("agreed"), needs=span("needs")).collect(engine="in-memory")
    worded = rows.with_columns(
        quantity=c("quantity").replace_strict(travel_words().quantity, return_dtype=pl.String),
        fits=pl.Series([fit_words(row) for row in rows.iter_rows(named=True)], dtype=pl.String),
    )
    ordered = worded.sort(~c("conflict"), c("bridged"), maintain_order=True)
    return ordered.select(c(n).cast(t) for n, t in AGREED.items())


@returns(OPEN)
def open_conditions(triage: Triage, loan_id: str) -> pl.DataFrame:
    """What must be done before packing and is not recorded as done, one row a line, schema OPEN."""
    mine = triage.collection["loan_object"].lazy().filter(c("loan_id") == loan_id)
    lines = open_lines(mine, triage.as_of).select("object_id", before_packing="line")
    return lines.collect(engine="in-memory")


def loan_sentence(row: Mapping[str, Any], objects: pl.DataFrame) -> str:
    """*LN 2026/2, agreed, to Kunsthaus: leaves 16 November 2026, in 47 days; 2 of its 4 objects are not to ...*

    row : of schema LOANS. objects : schema LENT.
    """
    whose = f"{'from' if row['inward'] else 'to'} {row['party']}" if row["party"] else ""
    head = ", ".join(filter(None, (row["loan_id"], row["how_far"].lower(), whose)))
    if row["phase"] == OVER:
        return f"{head}: {row['next']}; what follows is how its {count(objects.height, 'object')} would travel today."
    unfit = objects.filter(c("verdict") == NOT_FIT).height
    again = "for the way back " if row["phase"] == GONE and objects.height else ""
    return f"{head}: {row['next']}; {again}{not_packed(unfit, objects.height)}."


def conflicts_sentence(rows: pl.DataFrame) -> str:
    """How many of its objects need something else than was agreed; `rows`: schema AGREED."""
    against = rows.filter("conflict")
    unbridged = against.filter(~c("bridged"))["object_id"].n_unique()
    if against.is_empty():
        return "Nothing that was agreed goes beyond what an object needs, as far as figures are set."
    if not unbridged:
        return "What was agreed goes beyond what an object needs only where a case is agreed that holds it."
    return f"What was agreed goes beyond what {count(unbridged, 'object needs', 'objects need')}."
