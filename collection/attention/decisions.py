"""Decisions to leave something as it is: which are in force, and which have lapsed."""

import polars as pl

from collection.attention.facts import Facts, hazard_phrase
from collection.risk.hazards import hazard_id
from collection.risk.rates import DAMAGE, REPAIR
from collection.snapshot import ENTRY_NO
from schemas.vocabularies import vocabulary

c = pl.col


def standing_decisions(facts: Facts) -> pl.LazyFrame:
    """Decisions to leave that hold on the day of the question, with their object_id.

    Taken on or after the day of the last look, with a day to think again that has not passed; about the object, or
    about each open damage and repair it has. They lapse on activity, accident, loan, or a move to a place outside its
    target.
    """
    return _in_force(facts, "leaves").join(_covered(facts), on="object_id", how="semi")


def watched(facts: Facts) -> pl.LazyFrame:
    """Decisions to watch, with a day to think again that has not passed: they explain and date, and cover nothing."""
    return _in_force(facts, "watches")


def _in_force(facts: Facts, what: str) -> pl.LazyFrame:
    """Decisions of one sort that nothing has ended."""
    wanted = c("choice").is_in(vocabulary("choice").terms_where(what)) & (c("review_on") >= facts.as_of)
    known = facts.objects.select("object_id", "last_checked_on")
    after = _latest(facts).filter(wanted).join(known, on="object_id").filter(c("last_checked_on") <= c("decided_on"))
    words = c("choice").replace_strict(vocabulary("choice").labels(), default=c("choice"))
    return _standing(after, facts).with_columns(choice_words=words).sort("object_id", "decided_on", "decision_id")


def _covered(facts: Facts) -> pl.LazyFrame:
    """Objects decided about as a whole, and those each of whose hazards a decision names."""
    standing = _in_force(facts, "leaves")
    whole = standing.filter("about_object").select("object_id")
    named = standing.filter(~c("about_object")).select("object_id", hazard_id=_hazard())
    every = facts.mine(facts.risk.hazards).select("object_id", "hazard_id")
    open_ = every.join(named, on="object_id", how="semi")  # few objects have one: all others are passed over at once
    undecided = open_.join(named, on=["object_id", "hazard_id"], how="anti").select("object_id")
    each = named.select("object_id").join(undecided, on="object_id", how="anti")
    return pl.concat([whole, each]).unique()


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


FIGURES = {"length_mm": "length [mm]", "area_mm2": "area [mm²]", "count": "count"}


def moved(facts: Facts) -> pl.LazyFrame:
    """Objects moved since the last look, with or without an accident."""
    after = _after_look(facts.of("move"), "moved_on", facts)
    accident = pl.when(c("accident")).then(pl.lit("accident on the way, ")).otherwise(pl.lit(""))
    return after.select("object_id", reason=pl.format("{}moved {}, not looked at since", accident, "moved_on"))


def accidents(facts: Facts) -> pl.LazyFrame:
    """Objects with an accident or climate event on record that nobody has looked at closely since."""
    events = vocabulary("occasion").terms_where("accident")
    checks = facts.mine(facts.risk.checks).filter(c("occasion").is_in(events))
    after = _after_look(checks, "seen_on", facts)
    words = c("occasion").replace_strict(vocabulary("occasion").labels(), default=c("occasion")).str.to_lowercase()
    return after.select("object_id", reason=pl.format("{} ({}), not looked at since", words, "seen_on"))


def disagreements(facts: Facts) -> pl.LazyFrame:
    """Damage whose last line says grown and measures less, or says not grown and measures clearly more than before."""
    last = facts.mine(facts.risk.hazards).select(
        "object_id", "hazard_id", "check_id", "rate_row", "part", "part_share", "seen_on"
    )
    lines = facts.collection["observation"].lazy()
    compared = lines.filter(c("compared_with").is_not_null()).with_columns(hazard_id=hazard_id(DAMAGE, "damage_id"))
    now = compared.join(last, on=["hazard_id", "check_id"])
    earlier = lines.select("damage_id", "measurement_error", *FIGURES, compared_with="check_id")
    pairs = now.join(earlier, on=["damage_id", "compared_with"], suffix="_then")
    named = pairs.join(facts.traits.lazy().select("rate_row", "what"), on="rate_row", how="left")
    return pl.concat(
        named.filter(_disagrees(name, facts)).select("object_id", reason=_figures(name)) for name in FIGURES
    )


def _disagrees(name: str, facts: Facts) -> pl.Expr:
    grown = c("change").is_in(vocabulary("change").terms_where("grown")).fill_null(False)
    error = pl.max_horizontal("measurement_error", "measurement_error_then").fill_null(0)
    more = c(name) - c(f"{name}_then")
    return (grown & (more < 0)) | (~grown & (more > facts.rates.lines.growth_beyond * error))


def _figures(name: str) -> pl.Expr:
    labels = vocabulary("change").labels()
    change = c("change").replace_strict(labels, default="").str.to_lowercase()
    return pl.format(
        "{}: said to be {}, but {} {} after {}", hazard_phrase(), change, pl.lit(FIGURES[name]), name, f"{name}_then"
    )


def _after_look(rows: pl.LazyFrame, day: str, facts: Facts) -> pl.LazyFrame:
    looked = facts.objects.select("object_id", "last_checked_on")
    return rows.join(looked, on="object_id").filter(c(day) > c("last_checked_on"))
