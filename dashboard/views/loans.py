"""What is asked for, promised, away and due back; and of one loan whether its objects may travel."""

from typing import Any

import polars as pl
import streamlit as st

from collection.questions import loan, loans
from collection.questions.triage import Triage
from dashboard import data, filters, text
from dashboard.views import papers, parts

LISTED = ("loan_id", "how_far", "next", "objects", "not_fit", "conditions", "fit", "party", "purpose", "leaves_on",
          "back_on")  # fmt: skip
FILL = "A list of loans is brought in as any other table: `enamels intake FILE`."


def chosen(listed: pl.DataFrame) -> dict[str, Any] | None:
    """The loan the address names, else the first; a loan the register does not have is said."""
    asked = st.query_params.get(filters.LOAN, "")
    mine = listed.filter(pl.col("loan_id") == asked)
    if asked and mine.is_empty():
        parts.say(f"The address asks for loan '{asked}', and the register has no loan of this number.", "warn")
    rows = listed if mine.is_empty() else mine
    return rows.row(0, named=True) if rows.height else None


def by_day(listed: pl.DataFrame, here: str) -> None:
    """The loans by the day on which something falls due; a click in a row chooses the loan."""
    parts.section(
        "By day", "By what falls due next; those that are over stand last. A click in a row shows the loan below."
    )
    shown = listed.select(LISTED)
    row = parts.picked(f"loans_{here}", shown, alt="Loans by the day on which something falls due next")
    if row is not None and (picked := shown["loan_id"][row]) != here:
        st.query_params[filters.LOAN] = picked
        st.rerun()


def objects(rows: pl.DataFrame) -> None:
    """Its objects by verdict, each a link, with reasons, what would make it fit, what that takes, and the time."""
    for its in rows.partition_by("verdict", maintain_order=True):
        st.html(text.heading(f"{its['verdict_words'][0]}: {its.height}", level=3) + _lines(its))
    label = "As a table"
    parts.folded(
        label, "lent", rows.drop("verdict"), alt="Objects of the loan: may they travel, and why not", link=True
    )


def _lines(rows: pl.DataFrame) -> str:
    """Objects as lines of HTML, each a link: number, title, hours and money, then why, what to do, time."""
    fit_when = pl.format("It would be fit when {}.", pl.col("fit_when").replace("", None))
    why = [_sentence(pl.col("because")), fit_when, _sentence(pl.col("time").replace("", None))]
    lines = pl.concat_str(why, separator="\n", ignore_nulls=True)
    return parts.rows(rows.select("object_id", "title", place="takes", heed=pl.lit(None, pl.String), reasons=lines))


def _sentence(words: pl.Expr) -> pl.Expr:
    return pl.format("{}{}.", words.str.slice(0, 1).str.to_uppercase(), words.str.slice(1))


def limits(triage: Triage, loan_id: str) -> None:
    """What was agreed beside what each object needs, conflicts first."""
    rows = loan.agreed(triage, loan_id)
    parts.section("Agreed, and needed", loan.conflicts_sentence(rows))
    if rows.is_empty():
        parts.say("No figure is agreed or set for any of its objects.")
        return
    against = rows.filter("conflict").drop("conflict", "bridged")
    if against.height:
        parts.table("conflicts", against, alt="Limits agreed that go beyond what an object needs")
    label = "Every limit"
    parts.folded(label, "limits", rows.drop("conflict", "bridged"), alt="Limits agreed beside limits needed", link=True)


def before_packing(triage: Triage, loan_id: str) -> None:
    """What is still to be done before packing."""
    rows = loan.open_conditions(triage, loan_id)
    parts.section("Before packing")
    if rows.is_empty():
        parts.say("Nothing is noted that would have to be done before packing and is not done.")
    else:
        parts.table("before_packing", rows, alt="What must be done before packing and is not noted as done")


def one(triage: Triage, row: dict[str, Any]) -> None:
    """The chosen loan."""
    loan_id = row["loan_id"]
    rows = loan.lent(triage, loan_id)
    parts.section(row["purpose"] or loan_id, loan.loan_sentence(row, rows))
    if rows.is_empty():
        return
    objects(rows)
    limits(triage, loan_id)
    before_packing(triage, loan_id)
    parts.section("Papers", "Papers that leave the house show no value, no place in the house and no cost.")
    papers.of_loan(triage, loan_id)


triage = data.state().triage
listed = loans.loans(triage)
st.title("Loans", anchor=False)
parts.say(loans.answer(listed), "answer")
row = chosen(listed)
if row is None:
    st.markdown(FILL)
else:
    by_day(listed, row["loan_id"])
    one(triage, row)
