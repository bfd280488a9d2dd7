"""What happened to an object since the last look, and figures of that look that contradict what it says."""

import polars as pl

from collection.risk.facts import Facts, thing
from schemas.vocabularies import vocabulary

c = pl.col
FIGURES = {"length_mm": "length [mm]", "area_mm2": "area [mm²]", "count": "count"}


def moved(facts: Facts) -> pl.LazyFrame:
    """Objects moved since the last look, with or without an accident."""
    after = _after_look(facts.of("move").filter(c("moved_on") <= facts.as_of), "moved_on", facts)
    accident = pl.when(c("accident")).then(pl.lit("accident on the way, ")).otherwise(pl.lit(""))
    return after.select("object_id", reason=pl.format("{}moved {}, not looked at since", accident, "moved_on"))


def accidents(facts: Facts) -> pl.LazyFrame:
    """Objects with an accident or climate event on record that nobody has looked at closely since."""
    events = vocabulary("occasion").having("accident")
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
    grown = c("change").is_in(vocabulary("change").having("grown")).fill_null(False)
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
