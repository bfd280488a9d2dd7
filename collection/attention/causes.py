"""What calls for acting now: what may fall or hurt, and what its place feeds or harms. Each cause is a reason."""

import polars as pl

from collection.facts.facts import Facts
from collection.facts.wording import DANGER, day_words, of_hazards, reasoned, with_phrase
from collection.risk.hazards import hazard_id
from collection.risk.parameters import PERCENT
from collection.risk.placed import within
from collection.risk.rate_rows import DAMAGE, FRAGMENT
from collection.snapshot import Collection
from schemas.vocabularies import vocabulary

c = pl.col


def to_secure(facts: Facts) -> pl.LazyFrame:
    """Material may fall at the next touch, or a person may be hurt."""
    falls = facts.where(c("moving") & (c("row_sheds") | c("secure")))
    loose = facts.where(c("secure_always")).filter(c("source") != FRAGMENT)
    gone = facts.where(c("bears") & c("no_longer_works"))
    return pl.concat(
        [
            dangers(facts),
            loose_fragments(facts),
            of_hazards(with_phrase(falls, facts), "material may fall at the next touch"),
            of_hazards(with_phrase(loose, facts), "it lies loose in its place"),
            of_hazards(with_phrase(gone, facts), ""),
            _joins_before_a_journey(facts),
            _harmful_coatings(facts),
            _snags_near_fresh(facts),
        ]
    )


def to_move(facts: Facts) -> pl.LazyFrame:
    """Decay is going on that its place feeds, or its place does harm."""
    decay = facts.where((c("isolate") & (c("moving") | c("one_sighting"))) | (c("spreads") & c("moving")))
    fed = of_hazards(with_phrase(decay, facts), "its place may feed it")
    return pl.concat([fed, place_faults(facts, harmful=True), _outside(facts)])


def loose_fragments(facts: Facts) -> pl.LazyFrame:
    """Pieces on record that lie loose where they belong."""
    loose = facts.of("fragment").filter(c("status").is_in(vocabulary("fragment_status").terms_where("loose")))
    words = pl.format("fragment {} lies loose in its place", "fragment_id")
    return reasoned(loose, words, "fragment", hazard_id=hazard_id(FRAGMENT, "fragment_id"), since="checked_on")


def dangers(facts: Facts) -> pl.LazyFrame:
    """Dangers nobody has said to be safe as kept, and without precautions, or known by presumption only."""
    presumed = c("basis").is_in(vocabulary("danger_basis").terms_where("not_made_safe"))
    unsafe = c("made_safe_on").is_null()
    rows = facts.of("danger_to_people").filter(unsafe, presumed | c("precautions").is_null())
    labels = vocabulary("danger_agent").labels()
    agent = c("agent").replace_strict(labels, default=c("agent")).str.to_lowercase()
    words = pl.format("danger to people not yet made safe: {}", agent)
    shut = c("agent").is_in(vocabulary("danger_agent").terms_where("keeps_out"))
    known = {"hazard_id": pl.format("{}:{}", pl.lit(DANGER), "agent"), "since": pl.lit(None, pl.Date)}
    return pl.concat(
        [
            reasoned(rows.filter(shut), words, "danger_closed", **known),
            reasoned(rows.filter(~shut), words, DANGER, **known),
        ]
    )


def place_faults(facts: Facts, *, harmful: bool) -> pl.LazyFrame:
    """Objects at or below a place with an open fault that does harm at once, or that does not."""
    bad = vocabulary("place_fault").terms_where("better_place")
    of_kind = c("fault").is_in(bad) if harmful else ~c("fault").is_in(bad)
    faults = open_faults(facts.collection).filter(of_kind)
    words = pl.format("{}: {}, seen {}", "place", "fault_words", day_words("seen_on"))
    where = faults.lazy().select("fault", since="seen_on", fault_at="location_id", above="location_id", reason=words)
    below = within(facts.collection["location"]).lazy().join(where, on="above").drop("above")
    at = facts.places.join(below, on="location_id")
    return reasoned(at, c("reason"), "place_fault", location_id="fault_at", fault="fault", since="since")


def open_faults(collection: Collection) -> pl.DataFrame:
    """Faults of places nobody has mended: location_id, place (its name), fault, fault_words, seen_on."""
    labels = vocabulary("place_fault").labels()
    named = collection["location"].select("location_id", place=pl.coalesce("name", "location_id"))
    faults = collection["place_check"].filter(c("mended_on").is_null()).join(named, on="location_id", how="left")
    words = c("fault").replace_strict(labels, default=c("fault")).str.to_lowercase()
    return faults.select(
        "location_id", "fault", "seen_on", place=c("place").fill_null(c("location_id")), fault_words=words
    )


def _joins_before_a_journey(facts: Facts) -> pl.LazyFrame:
    """A join that is letting go, on an object that is to travel or to be moved soon."""
    letting_go = facts.where(c("bears") & c("lets_go"))
    last = pl.lit(facts.as_of).dt.offset_by(f"{facts.rates.lines.planned_within_months}mo")
    leaves = facts.promised.filter(c("leaves_on") <= last)
    worded = with_phrase(letting_go, facts).join(leaves, on="object_id")
    words = pl.format("{}, and a journey is planned for {} ({})", "phrase", day_words("leaves_on"), "loan_id")
    return of_hazards(worded.with_columns(phrase=words), "")


def _harmful_coatings(facts: Facts) -> pl.LazyFrame:
    """A coating that harms, with harm beneath it on record that is not stable."""
    coats = facts.where(c("does_harm") & ~c("only_colour"))
    unquiet = facts.where(c("beneath") & ~c("at_rest")).select(
        "object_id", "part", damage="hazard_id", below="term_words"
    )
    first = unquiet.sort("damage").group_by("object_id", "part", maintain_order=True).agg(c("below").first())
    worded = with_phrase(coats, facts).join(first, on=["object_id", "part"])
    return of_hazards(worded.with_columns(phrase=pl.format("{} beneath it: {}", "below", "phrase")), "")


def _snags_near_fresh(facts: Facts) -> pl.LazyFrame:
    """A wire or mount that presses or snags, and on the same part damage that began since the check before the last."""
    new = vocabulary("onset").terms_where("new")
    since = facts.objects.select("object_id", "last_checked_on")
    fresh = facts.of("damage").filter(c("onset").is_in(new), c("closed_on").is_null())
    recent = fresh.join(since, on="object_id").filter(
        c("first_seen_on_latest").is_null() | (c("first_seen_on_latest") >= c("last_checked_on"))
    )
    pressing = facts.where(c("snags") & ~(c("moving") & c("row_sheds")))
    near = recent.select("object_id", "part", "damage_id", hazard=hazard_id(DAMAGE, "damage_id"))
    pairs = with_phrase(pressing, facts).join(near, on=["object_id", "part"]).filter(c("hazard_id") != c("hazard"))
    words = pl.format("{}: presses or snags beside fresh damage ({})", "phrase", "damage_id")
    return of_hazards(pairs.with_columns(phrase=words), "", "snags")


def _outside(facts: Facts) -> pl.LazyFrame:
    held = facts.targets.join(facts.needs_its_target, on="object_id", how="semi")
    return reasoned(held, outside_words(), "outside_target")


def outside_words() -> pl.Expr:
    """How much of the time since the last check was outside the target, and whose."""
    percent = (c("outside_share") * PERCENT).round(0).cast(pl.Int64)
    return pl.format("outside its target {} % of the time since the last check (target: {})", percent, "reason")
