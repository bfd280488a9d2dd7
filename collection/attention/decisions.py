"""Decisions to leave something as it is: which are in force, and which have lapsed."""

import polars as pl

from collection.facts.facts import Facts
from collection.risk.hazards import hazard_id
from collection.risk.rate_rows import DAMAGE, REPAIR
from collection.snapshot import ENTRY_NO
from schemas.vocabularies import vocabulary

c = pl.col


def standing_decisions(facts: Facts) -> pl.LazyFrame:
    """Decisions to leave that hold on the day of the question, with their object_id.

    With a day to think again that has not passed; each open damage and repair is named by one, or was seen by the day
    of one about the object. They lapse on activity, accident, loan, or a move to a place outside its target.
    """
    return _in_force(facts, "leaves").join(_covered(facts), on="object_id", how="semi")


def watched(facts: Facts) -> pl.LazyFrame:
    """Decisions to watch, with a day to think again that has not passed: they explain and date, and cover nothing."""
    return _in_force(facts, "watches")


def _in_force(facts: Facts, what: str) -> pl.LazyFrame:
    """Decisions of one sort that nothing has ended."""
    wanted = c("choice").is_in(vocabulary("choice").terms_where(what)) & (c("review_on") >= facts.as_of)
    words = c("choice").replace_strict(vocabulary("choice").labels(), default=c("choice"))
    latest = _latest(facts).filter(wanted).with_columns(choice_words=words)
    return _standing(latest, facts).sort("object_id", "decided_on", "decision_id")


def _covered(facts: Facts) -> pl.LazyFrame:
    """Objects each of whose hazards a decision concerns, and that somebody has checked."""
    standing = _in_force(facts, "leaves")
    whole = standing.filter("about_object").group_by("object_id").agg(whole_on=c("decided_on").max())
    named = standing.filter(~c("about_object")).select("object_id", hazard_id=_hazard())
    every = facts.mine(facts.risk.hazards).select("object_id", "hazard_id").unique()
    open_ = every.join(standing, on="object_id", how="semi")  # few objects have one: all others are passed over at once
    first = open_.join(first_seen(facts), on="hazard_id", how="left").join(whole, on="object_id", how="left")
    seen_by_then = (c("first_on") <= c("whole_on")).fill_null(value=False)
    undecided = first.filter(~seen_by_then).join(named, on=["object_id", "hazard_id"], how="anti").select("object_id")
    decided = standing.select("object_id").unique().join(undecided, on="object_id", how="anti")
    return decided.join(facts.objects.filter(c("last_checked_on").is_not_null()), on="object_id", how="semi")


def first_seen(facts: Facts) -> pl.LazyFrame:
    """hazard_id and the day a check first had a line for it."""
    checks = facts.mine(facts.risk.checks).select("check_id", "seen_on")
    lines = pl.concat(
        [
            facts.collection["observation"].lazy().select("check_id", hazard_id=hazard_id(DAMAGE, "damage_id")),
            facts.collection["repair_state"].lazy().select("check_id", hazard_id=hazard_id(REPAIR, "repair_id")),
        ]
    )
    return lines.join(checks, on="check_id").group_by("hazard_id").agg(first_on=c("seen_on").min())


def _hazard() -> pl.Expr:
    """The hazard that a decision about a damage or a repair names."""
    return pl.coalesce(hazard_id(DAMAGE, "damage_id"), hazard_id(REPAIR, "repair_id"))


def _latest(facts: Facts) -> pl.LazyFrame:
    """The last decision about each object, damage and repair; an earlier one no longer speaks."""
    decisions = facts.of("decision").sort("decided_on", ENTRY_NO)
    last = decisions.unique(["object_id", "damage_id", "repair_id"], keep="last", maintain_order=True)
    return last.with_columns(about_object=c("damage_id").is_null() & c("repair_id").is_null())


def _standing(decisions: pl.LazyFrame, facts: Facts) -> pl.LazyFrame:
    """Those after which nothing happened that ends them."""
    events = pl.concat([_activity(facts), _accidents(facts), _loans(facts), _bad_moves(facts)])
    last = events.group_by("object_id").agg(c("event_on").max())
    with_event = decisions.join(last, on="object_id", how="left")
    return with_event.filter(c("event_on").is_null() | (c("event_on") <= c("decided_on")))


def _activity(facts: Facts) -> pl.LazyFrame:
    return facts.where(c("moving") | c("one_sighting")).select("object_id", event_on="seen_on")


def _accidents(facts: Facts) -> pl.LazyFrame:
    return facts.of("move").filter(c("accident")).select("object_id", event_on="moved_on")


def _loans(facts: Facts) -> pl.LazyFrame:
    """Legs of a loan that have begun."""
    legs = facts.collection["loan_leg"].lazy().select("loan_id", event_on="starts_on")
    begun = legs.filter(c("event_on") <= facts.as_of)
    return facts.of("loan_object").join(begun, on="loan_id").select("object_id", "event_on")


def _bad_moves(facts: Facts) -> pl.LazyFrame:
    badly = facts.of("move").join(facts.targets, on="object_id", how="semi")
    return badly.select("object_id", event_on="moved_on")
