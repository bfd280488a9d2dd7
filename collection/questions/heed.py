"""What comes before anything else about an object: a danger to people, what the house ordered, a loan that leaves."""

import polars as pl

from collection.facts.facts import Facts
from collection.facts.phrases import day_words
from collection.frames import returns
from collection.questions.triage import Triage
from schemas.vocabularies import vocabulary

HEED = pl.Schema({"object_id": pl.String, "heed": pl.String})
DANGER_SIGN = "\N{WARNING SIGN}"
c = pl.col


@returns(HEED)
def heed(triage: Triage) -> pl.DataFrame:
    """Objects that something comes before, schema HEED: dangers by sign and word, then house orders, then a loan."""
    facts = Facts(triage.collection, triage.risk, triage.rates)
    every = pl.concat([_dangers(facts), _orders(facts), _leaves(facts)])
    joined = every.sort("object_id", "place", "words").group_by("object_id", maintain_order=True)
    return joined.agg(heed=c("words").unique(maintain_order=True).str.join("; ")).collect(engine="in-memory")


def _dangers(facts: Facts) -> pl.LazyFrame:
    labels = vocabulary("danger_agent").labels()
    agent = c("agent").replace_strict(labels, default=c("agent")).str.to_lowercase()
    return _row(facts.of("danger_to_people"), 0, pl.format("{} danger to people: {}", pl.lit(DANGER_SIGN), agent))


def _orders(facts: Facts) -> pl.LazyFrame:
    ordered = facts.of("danger_to_people").filter(c("precautions").is_not_null())
    return _row(ordered, 1, pl.format("the house ordered: {}", "precautions"))


def _leaves(facts: Facts) -> pl.LazyFrame:
    last = pl.lit(facts.as_of).dt.offset_by(f"{facts.rates.lines.before_loan_days}d")
    soon = facts.promised.filter(c("leaves_on") <= last)
    return _row(soon, 2, pl.format("leaves {} for {}", day_words("leaves_on"), "loan_id"))


def _row(rows: pl.LazyFrame, place: int, words: pl.Expr) -> pl.LazyFrame:
    return rows.select("object_id", place=pl.lit(place, pl.Int8), words=words)
