"""May it travel? Every reason against a journey or for conditions on one, and the verdict that follows.

What stands against it in the loan are limits, a release, what was to be done first, permits. The rules are those of
lenders' practice (common practice, no source); months, journeys and masses stand in lines.toml, words and what would
make an object fit in travel.toml.
"""

from datetime import date

import polars as pl

from collection.facts.facts import Facts
from collection.frames import returns
from collection.loans.limits import conflicts, span
from collection.loans.object_rules import (
    CONDITIONS,
    NOT_FIT,
    OBJECT_RULES,
    Rule,
    last_inspected,
    longer_ago,
    row,
    with_agent,
)
from collection.loans.parameters import Travel, travel_words
from collection.risk.parameters import read
from schemas.vocabularies import vocabulary

FIT = "fit"
TRAVEL = pl.Schema(dict.fromkeys(("object_id", "verdict", "rule", "hazard_id", "reason"), pl.String))
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
RULES = (*OBJECT_RULES, *LOAN_RULES)


@returns(TRAVEL)
def travel_reasons(facts: Facts) -> pl.LazyFrame:
    """Every reason against a journey, or for conditions on one, schema TRAVEL; an object without a row is fit.

    What travels under conditions must have been inspected more lately than the rest; its reason says the condition.
    Worked out once for the same facts.
    """
    if "travel" not in facts.cached:
        facts.cached["travel"] = _reasons(facts).collect(engine="in-memory").lazy()
    return facts.cached["travel"]


def _reasons(facts: Facts) -> pl.LazyFrame:
    lines = read(Travel, "lines", "travel")
    rows = _conditioned(pl.concat([rule(facts, lines) for rule in RULES])).collect(engine="in-memory").lazy()
    conditional = last_inspected(facts).join(rows.filter(c("verdict") == CONDITIONS), on="object_id", how="semi")
    stale = longer_ago(conditional, lines.conditions_within_months, facts)
    known = rows.filter(c("rule") == "inspection").select("object_id")
    both = pl.concat([rows, stale.join(known, on="object_id", how="anti")])
    return both.unique().sort("object_id", "verdict", "rule", "reason")


def _conditioned(rows: pl.LazyFrame) -> pl.LazyFrame:
    """*Stable lifting, seen 22 September 2026: level on a rigid padded tray ...*: what the condition is."""
    asks = {name: its.fit_when for name, its in travel_words().rule.items()}
    words = pl.format("{}: {}", "reason", c("rule").replace_strict(asks, return_dtype=pl.String))
    return rows.with_columns(reason=pl.when(c("verdict") == CONDITIONS).then(words).otherwise("reason"))


def verdicts(facts: Facts) -> pl.LazyFrame:
    """object_id and verdict (*not_fit*, *conditions*, *fit*) of every object asked for."""
    of_reasons = travel_reasons(facts).group_by("object_id").agg(unfit=(c("verdict") == NOT_FIT).any())
    joined = facts.objects.select("object_id").join(of_reasons, on="object_id", how="left", maintain_order="left")
    verdict = pl.when("unfit").then(pl.lit(NOT_FIT)).when(c("unfit").is_not_null()).then(pl.lit(CONDITIONS))
    return joined.select("object_id", verdict=verdict.otherwise(pl.lit(FIT)))


__all__ = ["CONDITIONS", "FIT", "NOT_FIT", "RULES", "TRAVEL", "travel_reasons", "verdicts"]
