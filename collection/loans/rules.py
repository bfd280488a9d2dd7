"""May it travel? Each rule gives the objects it speaks of, a verdict and the reason, from today's records.

The rules are those of lenders' practice (common practice, no source); months, journeys and masses stand in lines.toml.
"""

from collections.abc import Callable
from typing import Literal

import polars as pl

from collection.facts.facts import Facts
from collection.facts.phrases import day_words, with_phrase
from collection.facts.reasons import DANGER
from collection.frames import returns
from collection.loans.parameters import Travel
from collection.risk.hazards import hazard_id
from collection.risk.kinds import broader_techniques
from collection.risk.parameters import read
from collection.risk.quiet import inspected
from collection.risk.rate_rows import FRAGMENT
from schemas.vocabularies import vocabulary

c = pl.col
Verdict = Literal["not_fit", "conditions"]
NOT_FIT: Verdict = "not_fit"
CONDITIONS: Verdict = "conditions"
FIT = "fit"
TRAVEL = pl.Schema(dict.fromkeys(("object_id", "verdict", "rule", "hazard_id", "reason"), pl.String))
Rule = Callable[[Facts, Travel], pl.LazyFrame]


@returns(TRAVEL)
def travel_reasons(facts: Facts) -> pl.LazyFrame:
    """Every reason against a journey, or for conditions on one, schema TRAVEL; an object without a row is fit."""
    lines = read(Travel, "lines", "travel")
    return pl.concat([rule(facts, lines) for rule in RULES]).unique().sort("object_id", "verdict", "rule", "reason")


def verdicts(facts: Facts) -> pl.LazyFrame:
    """object_id and verdict (*not_fit*, *conditions*, *fit*) of every object asked for."""
    of_reasons = travel_reasons(facts).group_by("object_id").agg(unfit=(c("verdict") == NOT_FIT).any())
    joined = facts.objects.select("object_id").join(of_reasons, on="object_id", how="left", maintain_order="left")
    verdict = pl.when("unfit").then(pl.lit(NOT_FIT)).when(c("unfit").is_not_null()).then(pl.lit(CONDITIONS))
    return joined.select("object_id", verdict=verdict.otherwise(pl.lit(FIT)))


def _row(
    rows: pl.LazyFrame, verdict: Verdict, rule: str, words: pl.Expr | str, hazard: str | None = None
) -> pl.LazyFrame:
    reason = pl.lit(words) if isinstance(words, str) else words
    of = pl.lit(None, pl.String) if hazard is None else c(hazard)
    return rows.select("object_id", verdict=pl.lit(verdict), rule=pl.lit(rule), hazard_id=of, reason=reason)


def loose_or_moving(facts: Facts, lines: Travel) -> pl.LazyFrame:
    """A piece is loose, or enamel, wire, joint or glass is moving or suspected to."""
    loose = c("status").is_in(vocabulary("fragment_status").terms_where("loose"))
    pieces = facts.of("fragment").filter(loose).with_columns(hazard_id=hazard_id(FRAGMENT, "fragment_id"))
    barred = facts.where((c("bars_travel") & (c("moving") | c("one_sighting"))) | c("secure_always"))
    unsaid = facts.where(c("lifts") & c("not_assessed"))
    return pl.concat(
        [
            _row(
                pieces,
                NOT_FIT,
                "fragment",
                pl.format("fragment {} lies loose in its place", "fragment_id"),
                "hazard_id",
            ),
            _row(with_phrase(barred, facts), NOT_FIT, "damage", c("phrase"), "hazard_id"),
            _row(with_phrase(unsaid, facts), NOT_FIT, "not_assessed", c("phrase"), "hazard_id"),
        ]
    )


def repairs(facts: Facts, lines: Travel) -> pl.LazyFrame:
    """A join that is letting go or has let go; any repair that harms."""
    bad = facts.where((c("bears") & (c("lets_go") | c("no_longer_works"))) | c("does_harm"))
    return _row(with_phrase(bad, facts), NOT_FIT, "repair", c("phrase"), "hazard_id")


def danger_to_people(facts: Facts, lines: Travel) -> pl.LazyFrame:
    """An agent nobody has assessed, or one that keeps an object in without a written release."""
    labels = vocabulary("danger_agent").labels()
    agent = c("agent").replace_strict(labels, default=c("agent")).str.to_lowercase()
    shut = c("agent").is_in(vocabulary("danger_agent").terms_where("keeps_out"))
    rows = facts.of("danger_to_people").with_columns(hazard_id=pl.format("{}:{}", pl.lit(DANGER), "agent"))
    unsafe = rows.filter(c("made_safe_on").is_null(), ~shut)
    return pl.concat(
        [
            _row(unsafe, NOT_FIT, DANGER, pl.format("danger to people, not assessed: {}", agent), "hazard_id"),
            _row(rows.filter(shut), NOT_FIT, "release",
                 pl.format("{}: does not travel without a written release for this loan", agent), "hazard_id"),
        ]
    )  # fmt: skip


def glass_without_target(facts: Facts, lines: Travel) -> pl.LazyFrame:
    """Unstable glass for which nobody has set a climate."""
    targets = facts.collection["target"].lazy().filter(c("reason").is_not_null(), c("object_id").is_not_null())
    without = facts.objects.filter("unstable").join(targets, on="object_id", how="anti")
    return _row(without, NOT_FIT, "target", "unstable glass, and no conservator has set the climate it needs")


def quiet_but_weak(facts: Facts, lines: Travel) -> pl.LazyFrame:
    """Lifting that does not move, and unstable glass that is quiet."""
    still = facts.where(c("lifts") & c("at_rest"))
    held = facts.where(c("unstable_glass") & c("at_rest"))
    return pl.concat(
        [
            _row(with_phrase(still, facts), CONDITIONS, "lifting", c("phrase"), "hazard_id"),
            _row(with_phrase(held, facts), CONDITIONS, "glass", c("phrase"), "hazard_id"),
        ]
    )


def checked_lately(facts: Facts, lines: Travel) -> pl.LazyFrame:
    """Never checked, or the last inspection is too old."""
    last = facts.mine(facts.risk.checks).filter(inspected()).group_by("object_id").agg(c("seen_on").max())
    known = facts.objects.select("object_id").join(last, on="object_id", how="left")
    back = pl.lit(facts.as_of).dt.offset_by(f"-{lines.inspected_within_months}mo")
    words = pl.format(
        "last inspected {}: longer ago than {} months", day_words("seen_on"), lines.inspected_within_months
    )
    return pl.concat(
        [
            _row(known.filter(c("seen_on").is_null()), NOT_FIT, "inspection", "never inspected"),
            _row(known.filter(c("seen_on") < back), NOT_FIT, "inspection", words),
        ]
    )


def delicate(facts: Facts, lines: Travel) -> pl.LazyFrame:
    """Techniques and masses that travel under conditions only."""
    keys = facts.objects.select(c("technique_key").unique()).collect(engine="in-memory")["technique_key"].to_list()
    fragile = set(vocabulary("technique").terms_where("fragile"))
    those = [key for key in keys if broader_techniques(key) & fragile]
    steel = vocabulary("metal").terms_where("heavy")
    mass = facts.of("object").filter(c("base_metal").is_in(steel), c("mass_g") > lines.heavy_g)
    return pl.concat(
        [
            _row(facts.objects.filter(c("technique_key").is_in(those)), CONDITIONS, "technique",
                 "its technique travels only in a crate of its own, with a courier"),
            _row(mass, CONDITIONS, "mass", "heavy iron or steel: a crate of its own"),
        ]
    )  # fmt: skip


def many_journeys(facts: Facts, lines: Travel) -> pl.LazyFrame:
    """More journeys in the last months than are thought good."""
    back = pl.lit(facts.as_of).dt.offset_by(f"-{lines.journeys_months}mo")
    legs = facts.collection["loan_leg"].lazy().filter(c("starts_on") <= facts.as_of, c("starts_on") >= back)
    travelled = facts.of("loan_object").select("object_id", "loan_id").unique().join(legs, on="loan_id")
    counted = travelled.group_by("object_id").agg(journeys=pl.len()).filter(c("journeys") > lines.journeys_most)
    words = pl.format("{} journeys in {} months", "journeys", lines.journeys_months)
    return _row(counted, CONDITIONS, "journeys", words)


def permits(facts: Facts, lines: Travel) -> pl.LazyFrame:
    """A permit that is asked for."""
    asked = facts.of("loan_object").filter(c("permits").is_not_null()).join(facts.leaves, on=["object_id", "loan_id"])
    return _row(asked, CONDITIONS, "permit", pl.format("needs: {}", "permits"))


RULES: tuple[Rule, ...] = (
    loose_or_moving,
    repairs,
    danger_to_people,
    glass_without_target,
    quiet_but_weak,
    checked_lately,
    delicate,
    many_journeys,
    permits,
)
