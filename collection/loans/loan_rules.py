"""May it travel? What stands against it in the loan: limits, a release, what was to be done first, permits."""

from datetime import date

import polars as pl

from collection.facts.facts import Facts
from collection.loans.limits import conflicts, span
from collection.loans.object_rules import CONDITIONS, NOT_FIT, Rule, row, with_agent
from collection.loans.parameters import Travel, travel_words
from schemas.vocabularies import vocabulary

c = pl.col


def released(facts: Facts, lines: Travel) -> pl.LazyFrame:
    """An agent that keeps an object in, without a release later than the loan was asked for."""
    shut = with_agent(facts).filter(c("agent").is_in(vocabulary("danger_agent").terms_where("keeps_out")))
    asked = facts.leaves.join(facts.collection["loan"].lazy().select("loan_id", "asked_on"), on="loan_id", how="left")
    known = shut.join(asked.select("object_id", "asked_on"), on="object_id", how="left")
    by_then = (c("cleared_to_travel_on") <= facts.as_of) & (
        c("asked_on").is_null() | (c("cleared_to_travel_on") >= c("asked_on"))
    )
    words = pl.format("{}: does not travel without a written release for this loan", "agent_words")
    return row(known.filter(~by_then.fill_null(value=False)), NOT_FIT, "release", words, "hazard_id")


def limits_fit(facts: Facts, lines: Travel) -> pl.LazyFrame:
    """What was agreed reaches beyond what the object needs; under conditions where a case is agreed that holds it."""
    names = travel_words().quantity
    named = c("quantity").replace_strict(names, return_dtype=pl.String)
    of_loan = conflicts(facts.collection).join(facts.leaves, on=["object_id", "loan_id"], how="semi")
    beyond = pl.format("{}: agreed {}, it needs {}", named, span("agreed"), span("needs"))
    return pl.concat(
        [
            row(of_loan.filter(~c("bridged")), NOT_FIT, "conflict", beyond),
            row(of_loan.filter("bridged"), CONDITIONS, "bridged", beyond),
        ]
    )


def done_before_packing(facts: Facts, lines: Travel) -> pl.LazyFrame:
    """A line of what must be done before packing, none of which is recorded as done."""
    asked = facts.of("loan_object").join(facts.leaves, on=["object_id", "loan_id"], how="semi")
    return row(open_lines(asked, facts.as_of), NOT_FIT, "open_condition", pl.format("before packing: {}", "line"))


def open_lines(lent: pl.LazyFrame, day: date) -> pl.LazyFrame:
    """Rows of loan_object with `line`: what must be done before packing, line by line, where none is noted as done."""
    met = (c("conditions_met_on") <= day).fill_null(value=False)
    undone = lent.filter(c("conditions_before_packing").is_not_null(), ~met)
    lines = undone.with_columns(line=c("conditions_before_packing").str.split("\n")).explode("line")
    return lines.with_columns(c("line").str.strip_chars()).filter(c("line") != "")


def permits(facts: Facts, lines: Travel) -> pl.LazyFrame:
    """A permit that is asked for."""
    asked = facts.of("loan_object").filter(c("permits").is_not_null())
    of_loan = asked.join(facts.leaves, on=["object_id", "loan_id"], how="semi")
    return row(of_loan, CONDITIONS, "permit", pl.format("needs: {}", "permits"))


LOAN_RULES: tuple[Rule, ...] = (released, limits_fit, done_before_packing, permits)
