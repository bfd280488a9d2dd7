"""Decisions to leave something as it is: which are in force, and which have lapsed."""

import polars as pl

from collection.attention.facts import Facts, thing
from schemas.vocabularies import vocabulary

c = pl.col


def standing_decisions(facts: Facts) -> pl.LazyFrame:
    """Decisions to leave that hold on the day of the question, with their object_id.

    Taken on or after the day of the last look, with a day to think again that has not passed; about the object, or
    about every hazard it has. They lapse on activity, accident, loan, or a move to a place outside its target.
    """
    leave = _latest(facts).filter(
        c("choice").is_in(vocabulary("choice").terms_where("leaves")), c("review_on") >= facts.as_of
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


c = pl.col
FIGURES = {"length_mm": "length [mm]", "area_mm2": "area [mm²]", "count": "count"}


def moved(facts: Facts) -> pl.LazyFrame:
    """Objects moved since the last look, with or without an accident."""
    after = _after_look(facts.of("move").filter(c("moved_on") <= facts.as_of), "moved_on", facts)
    accident = pl.when(c("accident")).then(pl.lit("accident on the way, ")).otherwise(pl.lit(""))
    return after.select("object_id", reason=pl.format("{}moved {}, not looked at since", accident, "moved_on"))


def accidents(facts: Facts) -> pl.LazyFrame:
    """Objects with an accident or climate event on record that nobody has looked at closely since."""
    events = vocabulary("occasion").terms_where("accident")
    made = facts.of("condition_check").filter(c("occasion").is_in(events), c("checked_on_earliest") <= facts.as_of)
    corrected = facts.of("condition_check").select(check_id="supersedes_check_id").drop_nulls()
    checks = made.join(corrected, on="check_id", how="anti").with_columns(seen_on="checked_on_latest")
    after = _after_look(checks, "seen_on", facts)
    words = c("occasion").replace_strict(vocabulary("occasion").labels(), default=c("occasion")).str.to_lowercase()
    return after.select("object_id", reason=pl.format("{} ({}), not looked at since", words, "seen_on"))


def disagreements(facts: Facts) -> pl.LazyFrame:
    """Damage whose last line says grown and measures less, or says not grown and measures clearly more than before."""
    last = facts.hazards.filter(c("source") == "damage").select(
        "object_id", "hazard_id", "check_id", "what", "part", "part_share", "seen_on"
    )
    lines = facts.collection["observation"].lazy().with_columns(hazard_id=pl.format("damage:{}", "damage_id"))
    now = lines.filter(c("compared_with").is_not_null()).join(last, on=["hazard_id", "check_id"])
    earlier = lines.select("hazard_id", "measurement_error", *FIGURES, compared_with="check_id")
    pairs = now.join(earlier, on=["hazard_id", "compared_with"], suffix="_then")
    told = [pairs.filter(_disagrees(name, facts)).select("object_id", reason=_figures(name)) for name in FIGURES]
    return pl.concat(told)


def _disagrees(name: str, facts: Facts) -> pl.Expr:
    grown = c("change").is_in(vocabulary("change").terms_where("grown")).fill_null(False)
    error = pl.max_horizontal("measurement_error", "measurement_error_then").fill_null(0)
    more = c(name) - c(f"{name}_then")
    return (grown & (more < 0)) | (~grown & (more > facts.rates.lines.growth_beyond * error))


def _figures(name: str) -> pl.Expr:
    labels = vocabulary("change").labels()
    said = c("change").replace_strict(labels, default="").str.to_lowercase()
    return pl.format(
        "{}: said to be {}, but {} {} after {}", thing(), said, pl.lit(FIGURES[name]), name, f"{name}_then"
    )


def _after_look(rows: pl.LazyFrame, day: str, facts: Facts) -> pl.LazyFrame:
    looked = facts.objects.select("object_id", "last_checked_on")
    return rows.join(looked, on="object_id").filter(c(day) > c("last_checked_on"))
