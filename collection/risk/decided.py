"""Decisions to leave something as it is: which are in force, and which have lapsed."""

import polars as pl

from collection.risk.facts import Facts
from schemas.vocabularies import vocabulary

c = pl.col


def in_force(facts: Facts) -> pl.LazyFrame:
    """Decisions to leave that hold on the day of the question, with their object_id.

    Taken on or after the day of the last look, with a day to think again that has not passed; about the object, or
    about every hazard it has. They lapse on activity, accident, loan, or a move to a place outside its target.
    """
    leave = _latest(facts).filter(
        c("choice").is_in(vocabulary("choice").having("leaves")), c("review_on") >= facts.as_of
    )
    known = facts.objects.select("object_id", "last_checked_on", "hazards")
    after = leave.join(known, on="object_id").filter(c("last_checked_on") <= c("decided_on"))
    covering = after.filter(c("about_object").max().over("object_id") | (pl.len().over("object_id") >= c("hazards")))
    labels = vocabulary("choice").labels()
    words = c("choice").replace_strict(labels, default=c("choice"))
    return _standing(covering, facts).with_columns(choice_words=words).sort("object_id", "decided_on", "decision_id")


def _latest(facts: Facts) -> pl.LazyFrame:
    """The last decision about each object, damage and repair; an earlier one no longer speaks."""
    made = facts.of("decision").filter(c("decided_on") <= facts.as_of).sort("decided_on", "decision_id")
    last = made.unique(["object_id", "damage_id", "repair_id"], keep="last", maintain_order=True)
    return last.with_columns(about_object=c("damage_id").is_null() & c("repair_id").is_null())


def _standing(decisions: pl.LazyFrame, facts: Facts) -> pl.LazyFrame:
    """Those after which nothing happened that ends them."""
    events = pl.concat([_activity(facts), _accidents(facts), _loans(facts), _bad_moves(facts)])
    last = events.group_by("object_id").agg(c("event_on").max())
    kept = decisions.join(last, on="object_id", how="left")
    return kept.filter(c("event_on").is_null() | (c("event_on") <= c("decided_on")))


def _activity(facts: Facts) -> pl.LazyFrame:
    return facts.where(c("moving") | c("one_sighting")).select("object_id", event_on="seen_on")


def _accidents(facts: Facts) -> pl.LazyFrame:
    happened = facts.of("move").filter(c("accident"), c("moved_on") <= facts.as_of)
    return happened.select("object_id", event_on="moved_on")


def _loans(facts: Facts) -> pl.LazyFrame:
    """Legs of a loan, begun or planned."""
    legs = facts.collection["loan_leg"].lazy().select("loan_id", event_on="starts_on")
    return facts.of("loan_object").join(legs, on="loan_id").select("object_id", "event_on")


def _bad_moves(facts: Facts) -> pl.LazyFrame:
    moved = facts.of("move").filter(c("moved_on") <= facts.as_of).join(facts.targets, on="object_id", how="semi")
    return moved.select("object_id", event_on="moved_on")
