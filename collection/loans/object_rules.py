"""May it travel? What stands against it in the object itself: each rule gives objects, a verdict and the reason.

The rules are those of lenders' practice (common practice, no source); months, journeys and masses stand in lines.toml.
"""

from collections.abc import Callable
from typing import Literal

import polars as pl

from collection.facts.facts import Facts
from collection.facts.wording import DANGER, day_words, with_phrase
from collection.loans.parameters import Travel
from collection.risk.climate import applying_targets
from collection.risk.hazards import hazard_id
from collection.risk.kinds import broader_techniques
from collection.risk.quiet import inspected
from collection.risk.rate_rows import FRAGMENT
from schemas.vocabularies import vocabulary

c = pl.col
Verdict = Literal["not_fit", "conditions"]
NOT_FIT: Verdict = "not_fit"
CONDITIONS: Verdict = "conditions"
TRAVEL = pl.Schema(dict.fromkeys(("object_id", "verdict", "rule", "hazard_id", "reason"), pl.String))
Rule = Callable[[Facts, Travel], pl.LazyFrame]


def row(
    rows: pl.LazyFrame, verdict: Verdict, rule: str, words: pl.Expr | str, hazard: str | None = None
) -> pl.LazyFrame:
    """Rows of schema TRAVEL: one rule's verdict on each object, and the reason."""
    reason = pl.lit(words) if isinstance(words, str) else words
    of = pl.lit(None, pl.String) if hazard is None else c(hazard)
    return rows.select("object_id", verdict=pl.lit(verdict), rule=pl.lit(rule), hazard_id=of, reason=reason)


def loose_or_moving(facts: Facts, lines: Travel) -> pl.LazyFrame:
    """A piece is loose, or enamel, wire, joint or glass is moving or suspected to."""
    loose = c("status").is_in(vocabulary("fragment_status").terms_where("loose"))
    pieces = facts.of("fragment").filter(loose).with_columns(hazard_id=hazard_id(FRAGMENT, "fragment_id"))
    barred = facts.where((c("bars_travel") & (c("moving") | c("one_sighting"))) | c("secure_always"))
    unsaid = facts.where((c("lifts") | c("unstable_glass")) & c("not_assessed"))
    return pl.concat(
        [
            row(
                pieces,
                NOT_FIT,
                "fragment",
                pl.format("fragment {} lies loose in its place", "fragment_id"),
                "hazard_id",
            ),
            row(with_phrase(barred, facts), NOT_FIT, "damage", c("phrase"), "hazard_id"),
            row(with_phrase(unsaid, facts), NOT_FIT, "not_assessed", c("phrase"), "hazard_id"),
        ]
    )


def repairs(facts: Facts, lines: Travel) -> pl.LazyFrame:
    """A join that is letting go or has let go; any repair that harms."""
    bad = facts.where((c("bears") & (c("lets_go") | c("no_longer_works"))) | c("does_harm"))
    return row(with_phrase(bad, facts), NOT_FIT, "repair", c("phrase"), "hazard_id")


def danger_to_people(facts: Facts, lines: Travel) -> pl.LazyFrame:
    """An agent of which no qualified person has said that it is safe as kept."""
    shut = vocabulary("danger_agent").terms_where("keeps_out")
    unsafe = with_agent(facts).filter(c("made_safe_on").is_null(), ~c("agent").is_in(shut))
    words = pl.format("danger to people, not assessed: {}", "agent_words")
    return row(unsafe, NOT_FIT, DANGER, words, "hazard_id")


def with_agent(facts: Facts) -> pl.LazyFrame:
    """Dangers to people with hazard_id and the agent in words."""
    labels = vocabulary("danger_agent").labels()
    words = c("agent").replace_strict(labels, default=c("agent")).str.to_lowercase()
    key = pl.format("{}:{}", pl.lit(DANGER), "agent")
    return facts.of("danger_to_people").with_columns(hazard_id=key, agent_words=words)


def glass_without_target(facts: Facts, lines: Travel) -> pl.LazyFrame:
    """Unstable glass for which nobody has set a climate."""
    targets = applying_targets(facts.collection).lazy().select("object_id").unique()
    without = facts.objects.filter("unstable").join(targets, on="object_id", how="anti")
    return row(without, NOT_FIT, "target", "unstable glass, and no conservator has set the climate it needs")


def quiet_but_weak(facts: Facts, lines: Travel) -> pl.LazyFrame:
    """Lifting that does not move, and unstable glass that is quiet."""
    still = facts.where(c("lifts") & c("at_rest"))
    held = facts.where(c("unstable_glass") & c("at_rest"))
    return pl.concat(
        [
            row(with_phrase(still, facts), CONDITIONS, "lifting", c("phrase"), "hazard_id"),
            row(with_phrase(held, facts), CONDITIONS, "glass", c("phrase"), "hazard_id"),
        ]
    )


def checked_lately(facts: Facts, lines: Travel) -> pl.LazyFrame:
    """Never inspected, or too long ago."""
    known = last_inspected(facts)
    never = row(known.filter(c("seen_on").is_null()), NOT_FIT, "inspection", "never inspected")
    return pl.concat([never, longer_ago(known, lines.inspected_within_months, facts)])


def last_inspected(facts: Facts) -> pl.LazyFrame:
    """object_id and seen_on, the day of its last inspection, of every object asked for."""
    last = facts.mine(facts.risk.checks).filter(inspected()).group_by("object_id").agg(c("seen_on").max())
    return facts.objects.select("object_id").join(last, on="object_id", how="left")


def longer_ago(known: pl.LazyFrame, months: int, facts: Facts) -> pl.LazyFrame:
    """Objects last inspected longer ago than so many months."""
    back = pl.lit(facts.as_of).dt.offset_by(f"-{months}mo")
    words = pl.format("last inspected {}: longer ago than {} months", day_words("seen_on"), months)
    return row(known.filter(c("seen_on") < back), NOT_FIT, "inspection", words)


def delicate(facts: Facts, lines: Travel) -> pl.LazyFrame:
    """Techniques and masses that travel under conditions only."""
    keys = facts.objects.select(c("technique_key").unique()).collect(engine="in-memory")["technique_key"].to_list()
    fragile = set(vocabulary("technique").terms_where("fragile"))
    those = [key for key in keys if broader_techniques(key) & fragile]
    steel = vocabulary("metal").terms_where("heavy")
    mass = facts.of("object").filter(c("base_metal").is_in(steel), c("mass_g") > lines.heavy_g)
    return pl.concat(
        [
            row(facts.objects.filter(c("technique_key").is_in(those)), CONDITIONS, "technique",
                 "a technique that vibration breaks"),
            row(mass, CONDITIONS, "mass", "heavy iron or steel"),
        ]
    )  # fmt: skip


def many_journeys(facts: Facts, lines: Travel) -> pl.LazyFrame:
    """More journeys in the last months than are thought good."""
    back = pl.lit(facts.as_of).dt.offset_by(f"-{lines.journeys_months}mo")
    legs = facts.collection["loan_leg"].lazy().filter(c("starts_on") <= facts.as_of, c("starts_on") >= back)
    travelled = facts.of("loan_object").select("object_id", "loan_id").unique().join(legs, on="loan_id")
    counted = travelled.group_by("object_id").agg(journeys=pl.len()).filter(c("journeys") > lines.journeys_most)
    words = pl.format("{} journeys in {} months", "journeys", lines.journeys_months)
    return row(counted, CONDITIONS, "journeys", words)


OBJECT_RULES: tuple[Rule, ...] = (
    loose_or_moving,
    repairs,
    danger_to_people,
    glass_without_target,
    quiet_but_weak,
    checked_lately,
    delicate,
    many_journeys,
)
