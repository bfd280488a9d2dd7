"""Rules of attention that brook no delay, and what nobody has seen. Each gives its objects and reasons."""

import polars as pl

from collection.attention.decisions import accidents, disagreements, moved, standing_decisions, watched
from collection.attention.facts import Facts, hazard_phrase
from collection.attention.intervals import due
from collection.risk.hazards import hazard_id
from collection.risk.parameters import PERCENT
from collection.risk.placed import within
from collection.risk.rates import DAMAGE
from schemas.vocabularies import vocabulary


def secure_now(facts: Facts) -> pl.LazyFrame:
    """Material may be lost at the next touch, or a person may be hurt."""
    c = pl.col
    loose = (c("secure") & c("moving")) | c("secure_always")
    kinds = {
        "material may fall at the next touch": loose,
        "presses or snags while change is under way": c("snags") & c("moving"),
        "what it held is held by nothing": c("bears") & c("no_longer_works"),
        "it is damaging original material": c("does_harm") & ~c("only_colour"),
    }
    reasons = [_reasoned(facts.where(rule), words) for words, rule in kinds.items()]
    return pl.concat([*reasons, _snags_near_fresh(facts), _loose_fragments(facts), _dangers(facts)])


def better_place_now(facts: Facts) -> pl.LazyFrame:
    """Decay is going on that its place feeds, or its place does harm."""
    decay = pl.col("isolate") & (pl.col("moving") | pl.col("one_sighting"))
    reasons = _reasoned(facts.where(decay), "its place may feed it")
    return pl.concat([reasons, place_faults(facts, harmful=True), _outside(facts)])


def not_yet_seen(facts: Facts) -> pl.LazyFrame:
    """Never checked, or only a remark in the catalogue."""
    remark = pl.col("look").is_not_null() | pl.col("condition_remark").is_not_null()
    words = pl.when(remark).then(pl.lit("only a remark in the records")).otherwise(pl.lit("nobody has looked at it"))
    return facts.objects.filter(pl.col("last_checked_on").is_null()).select("object_id", reason=words)


def place_faults(facts: Facts, *, harmful: bool) -> pl.LazyFrame:
    """Objects at or below a place with an open fault that does harm at once, or that does not."""
    bad = vocabulary("place_fault").terms_where("better_place")
    open_ = pl.col("mended_on").is_null()
    of_kind = pl.col("fault").is_in(bad) if harmful else ~pl.col("fault").is_in(bad)
    faults = facts.collection["place_check"].filter(open_, of_kind)
    named = facts.collection["location"].select("location_id", "name")
    labels = vocabulary("place_fault").labels()
    at = pl.format(
        "{}: {}, seen {}",
        pl.coalesce("name", "above"),
        pl.col("fault").replace_strict(labels, default=pl.col("fault")).str.to_lowercase(),
        "seen_on",
    )
    where = faults.join(named, on="location_id", how="left").rename({"location_id": "above"}).select("above", reason=at)
    below = within(facts.collection["location"]).join(where, on="above").select("location_id", "reason")
    return facts.places.join(below.lazy(), on="location_id").select("object_id", "reason")


def _reasoned(hazards: pl.LazyFrame, words: str) -> pl.LazyFrame:
    return hazards.select("object_id", reason=pl.format("{}: {}", hazard_phrase(), pl.lit(words)))


def _snags_near_fresh(facts: Facts) -> pl.LazyFrame:
    """A wire or mount that presses or snags, and on the same part damage that began since the look before the last."""
    new = vocabulary("onset").terms_where("new")
    since = facts.objects.select("object_id", "last_checked_on")
    fresh = facts.of("damage").filter(pl.col("onset").is_in(new), pl.col("closed_on").is_null())
    recent = fresh.join(since, on="object_id").filter(
        pl.col("first_seen_on_latest").is_null() | (pl.col("first_seen_on_latest") >= pl.col("last_checked_on"))
    )
    at_rest = facts.where(pl.col("snags") & ~pl.col("moving"))
    near = recent.select("object_id", "part", "damage_id", hazard=hazard_id(DAMAGE, "damage_id"))
    pairs = at_rest.join(near, on=["object_id", "part"]).filter(pl.col("hazard_id") != pl.col("hazard"))
    words = pl.format("{}: presses or snags beside fresh damage ({})", hazard_phrase(), "damage_id")
    return pairs.select("object_id", reason=words)


def _loose_fragments(facts: Facts) -> pl.LazyFrame:
    loose = facts.of("fragment").filter(pl.col("status").is_in(vocabulary("fragment_status").terms_where("loose")))
    return loose.select("object_id", reason=pl.format("fragment {} lies loose in its place", "fragment_id"))


def _dangers(facts: Facts) -> pl.LazyFrame:
    """Dangers nobody has said to be safe as kept, and without precautions, or known by presumption only."""
    presumed = pl.col("basis").is_in(vocabulary("danger_basis").terms_where("not_made_safe"))
    unsafe = pl.col("made_safe_on").is_null()
    rows = facts.of("danger_to_people").filter(unsafe, presumed | pl.col("precautions").is_null())
    agent = (
        pl.col("agent").replace_strict(vocabulary("danger_agent").labels(), default=pl.col("agent")).str.to_lowercase()
    )
    return rows.select("object_id", reason=pl.format("danger to people not yet made safe: {}", agent))


def _outside(facts: Facts) -> pl.LazyFrame:
    over = facts.targets
    held = over if facts.risk.targets.is_empty() else over.join(facts.needs_its_target, on="object_id", how="semi")
    return held.select("object_id", reason=outside_words(facts))


def outside_words(facts: Facts) -> pl.Expr:
    """How much of the time since the last look was outside the target, and whose."""
    percent = (pl.col("outside_share") * PERCENT).round(0).cast(pl.Int64)
    return pl.format("outside its target {} % of the time since the last look (target: {})", percent, "reason")


c = pl.col


def left_on_record(facts: Facts) -> pl.LazyFrame:
    """A decision to leave is in force, with its reason and the day to think again."""
    return standing_decisions(facts).select("object_id", reason=_decision_words())


def _decision_words() -> pl.Expr:
    return pl.format("{} on {}: {}; think again on {}", "choice_words", "decided_on", "reason", "review_on")


def above_the_line_and_sure(facts: Facts) -> pl.LazyFrame:
    """Loss at or above the museum's limit for treatment, and sure."""
    sure = c("width") < facts.rates.lines.width_line
    return _above(facts).filter(sure).select("object_id", reason=_loss_words(facts))


def look_again(facts: Facts) -> pl.LazyFrame:
    """At or above the line and unsure; not assessed; overdue; something happened since; figures disagree."""
    unsure = _above(facts).filter(c("width") >= facts.rates.lines.width_line)
    open_question = facts.where((c("not_assessed") | c("one_sighting")) & c("fast"))
    worse = facts.hazards.filter(c("modifier") >= facts.rates.lines.excursion_modifier)
    late = due(facts).filter(c("due_on") < facts.as_of)
    return pl.concat(
        [
            unsure.select(
                "object_id",
                reason=pl.format(
                    "{}, and unsure: the figures span {} decades", _loss_words(facts), c("width").round(1)
                ),
            ),
            open_question.select("object_id", reason=pl.format("{}: a kind that can move fast", hazard_phrase())),
            late.select("object_id", reason=pl.format("look was due on {} ({})", "due_on", "because")),
            worse.select("object_id", reason=pl.format("{}: its climate has been worse since", hazard_phrase())),
            facts.targets.select("object_id", reason=outside_words(facts)),
            moved(facts),
            accidents(facts),
            disagreements(facts),
        ]
    )


def watch(facts: Facts) -> pl.LazyFrame:
    """Stable or dormant with a reason to return, and a day."""
    dated = due(facts)
    reason = dated.filter(c("return_for").is_not_null())
    decided = watched(facts)
    faults = place_faults(facts, harmful=False).join(dated, on="object_id")
    return pl.concat(
        [
            reason.select("object_id", reason=pl.format("{}; look again by {}", "return_for", "due_on")),
            faults.select("object_id", reason=pl.format("{}; look again by {}", "reason", "due_on")),
            decided.select("object_id", reason=_decision_words()),
        ]
    )


def everything_else(facts: Facts) -> pl.LazyFrame:
    """Checked within its interval, nothing active, nothing failing, target met; or not here at all."""
    status = vocabulary("object_status").labels()
    away = c("status").replace_strict(status, default=c("status"))
    here = pl.format("seen {}, nothing active, nothing failing; next look by {}", "last_checked_on", "due_on")
    words = pl.when("away").then(away).otherwise(here)
    return facts.objects.join(due(facts), on="object_id", how="left").select("object_id", reason=words)


def _above(facts: Facts) -> pl.LazyFrame:
    return facts.objects.filter(c("annual_loss") >= facts.rates.lines.treat_from)


def _loss_words(facts: Facts) -> pl.Expr:
    """What is expected to be lost, beside the museum's limit."""
    shares = (c("annual_loss"), pl.lit(facts.rates.lines.treat_from))
    percents = [(share * PERCENT).round_sig_figs(2) for share in shares]
    return pl.format("about {} % of its value a year if left (treated from {} %)", *percents)
