"""May it travel? Every reason against a journey or for conditions on one, and the verdict that follows.

The rules are those of lenders' practice (common practice, no source); months, journeys and masses stand in lines.toml,
words and what would make an object fit in travel.toml.
"""

import polars as pl

from collection.facts.facts import Facts
from collection.frames import returns
from collection.loans.loan_rules import LOAN_RULES
from collection.loans.object_rules import CONDITIONS, NOT_FIT, OBJECT_RULES, last_inspected, longer_ago
from collection.loans.parameters import Travel, travel_words
from collection.risk.parameters import read

FIT = "fit"
RULES = (*OBJECT_RULES, *LOAN_RULES)
TRAVEL = pl.Schema(dict.fromkeys(("object_id", "verdict", "rule", "hazard_id", "reason"), pl.String))
c = pl.col


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
