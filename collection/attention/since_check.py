"""What happened since the last check, so that it no longer holds: moves, accidents, figures that disagree."""

import polars as pl

from collection.facts.facts import Facts
from collection.facts.phrases import day_words, with_phrase
from collection.facts.reasons import of_hazards, reasoned
from collection.risk.hazards import hazard_id
from collection.risk.rate_rows import DAMAGE
from schemas.vocabularies import vocabulary

c = pl.col
FIGURES = {"length_mm": "length [mm]", "area_mm2": "area [mm²]", "count": "count"}


def moved(facts: Facts) -> pl.LazyFrame:
    """Objects moved since the last check: with an accident, on a journey, or with a hazard that moves badly."""
    after = _after_check(facts.of("move"), "moved_on", facts)
    journeys = list(vocabulary("packing").properties("counts_as"))
    weak = facts.where(c("moves_badly") | c("secure_always")).select("object_id", weak=pl.lit(value=True)).unique()
    known = after.join(weak, on="object_id", how="left")
    speaking = known.filter(c("accident").fill_null(False) | c("packed").is_in(journeys).fill_null(False) | c("weak"))
    accident = pl.when(c("accident")).then(pl.lit("accident on the way, ")).otherwise(pl.lit(""))
    return reasoned(speaking, pl.format("{}moved {}, not checked since", accident, day_words("moved_on")))


def accidents(facts: Facts) -> pl.LazyFrame:
    """Objects with an accident or climate event on record that nobody has checked closely since."""
    events = vocabulary("occasion").terms_where("accident")
    checks = facts.mine(facts.risk.checks).filter(c("occasion").is_in(events))
    after = _after_check(checks, "seen_on", facts)
    words = c("occasion").replace_strict(vocabulary("occasion").labels(), default=c("occasion")).str.to_lowercase()
    return reasoned(after, pl.format("{} ({}), not checked since", words, day_words("seen_on")))


def disagreements(facts: Facts) -> pl.LazyFrame:
    """Damage whose last line says grown and measures less, or says not grown and measures clearly more than before."""
    last = facts.hazards
    lines = facts.collection["observation"].lazy()
    compared = lines.filter(c("compared_with").is_not_null()).with_columns(hazard_id=hazard_id(DAMAGE, "damage_id"))
    now = with_phrase(last, facts).join(compared, on=["hazard_id", "check_id"])
    earlier = lines.select("damage_id", "measurement_error", *FIGURES, compared_with="check_id")
    pairs = now.join(earlier, on=["damage_id", "compared_with"], suffix="_then")
    return pl.concat(
        of_hazards(pairs.filter(_disagrees(name, facts)).with_columns(phrase=_figures(name)), "") for name in FIGURES
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
        "{}: said to be {}, but {} {} after {}", "phrase", change, pl.lit(FIGURES[name]), name, f"{name}_then"
    )


def _after_check(rows: pl.LazyFrame, day: str, facts: Facts) -> pl.LazyFrame:
    checked = facts.objects.select("object_id", "last_checked_on")
    return rows.join(checked, on="object_id").filter(c(day) > c("last_checked_on"))
