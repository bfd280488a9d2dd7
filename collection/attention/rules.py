"""The rules of attention, one a class: each gives the objects it holds for, with reasons (schema REASON)."""

import polars as pl

from collection.attention.causes import outside_words, place_faults, to_move, to_secure
from collection.attention.decisions import standing_decisions, watched
from collection.attention.intervals import due
from collection.attention.still_holds import accidents, answered, disagreements, moved, supported, unanswered
from collection.facts.facts import Facts
from collection.facts.wording import day_words, of_hazards, reasoned, with_phrase
from collection.loans.rules import NOT_FIT, travel_reasons
from schemas.terms import Attention
from schemas.vocabularies import terms, vocabulary

c = pl.col


def secure_it(facts: Facts) -> pl.LazyFrame:
    """What may fall or hurt, and was not made safe."""
    return unanswered(to_secure(facts), _answers("secure_it"), facts)


def move_it(facts: Facts) -> pl.LazyFrame:
    """What its place feeds or harms, and was not answered."""
    return unanswered(to_move(facts), _answers("move_it"), facts)


def leaves_unfit(facts: Facts) -> pl.LazyFrame:
    """A leg of a loan begins within the days set, and a rule of travel says that it is not fit."""
    last = pl.lit(facts.as_of).dt.offset_by(f"{facts.rates.lines.before_loan_days}d")
    soon = facts.promised.filter(c("leaves_on") <= last)
    unfit = travel_reasons(facts).lazy().filter(c("verdict") == NOT_FIT).join(soon, on="object_id")
    words = pl.format("not fit to travel: {}", "reason")
    return reasoned(unfit, words, "unfit", hazard_id="hazard_id")


def made_safe(facts: Facts) -> pl.LazyFrame:
    """Every cause of acting now was answered by an interim action that still holds."""
    both = [answered(causes(facts), _answers(rule), facts)
            for causes, rule in ((to_secure, "secure_it"), (to_move, "move_it"))]  # fmt: skip
    rows = pl.concat(both)
    return reasoned(rows, pl.format("{} ({})", "reason", "did"), "made_safe", loss="loss", hazard_id="hazard_id")


def not_checked(facts: Facts) -> pl.LazyFrame:
    """Never checked, or only a remark in the catalogue."""
    remark = c("look").is_not_null() | c("condition_remark").is_not_null()
    unseen = facts.objects.filter(c("last_checked_on").is_null())
    return pl.concat(
        [
            reasoned(unseen.filter(remark), pl.lit("only a remark in the records"), "remark_only"),
            reasoned(unseen.filter(~remark), pl.lit("nobody has checked it"), "never_checked"),
        ]
    )


def left(facts: Facts) -> pl.LazyFrame:
    """A decision to leave is in force, with its reason and the day to think again."""
    return reasoned(standing_decisions(facts), _decision_words(), "decision")


def _decision_words() -> pl.Expr:
    return pl.format(
        "{} on {}: {}; think again on {}", "choice_words", day_words("decided_on"), "reason", day_words("review_on")
    )


def treat(facts: Facts) -> pl.LazyFrame:
    """Loss at or above the museum's limit, sure, and at least half of it from states somebody assessed."""
    sure = _above(facts).filter(_sure(facts))
    hazards = with_phrase(facts.hazards.join(sure.select("object_id"), on="object_id", how="semi"), facts)
    open_ = facts.of("option").filter(c("status").is_in(vocabulary("option_status").terms_where("backlog")))
    begun = c("status").is_in(vocabulary("option_status").terms_where("agreed"))
    best = open_.group_by("object_id").agg(agreed=begun.any())
    named = hazards.join(best, on="object_id", how="left", maintain_order="left")
    return pl.concat(
        [
            of_hazards(named.filter(c("agreed").is_null()), ""),
            of_hazards(named.filter(~c("agreed")), "", "proposal_open"),
            of_hazards(named.filter("agreed"), "", "proposal_accepted"),
        ]
    )


def check_again(facts: Facts) -> pl.LazyFrame:
    """At or above the limit and unsure; not assessed; overdue; something happened since; figures disagree."""
    unsure = _above(facts).filter(~_sure(facts))
    many = pl.format("its figure is rough: {} times less or more", c("unsure_times").sqrt().round(0).cast(pl.Int64))
    unsaid = facts.where((c("not_assessed") | c("one_sighting") | c("moving")) & c("fast"))
    worse = facts.hazards.filter(c("modifier") >= facts.rates.lines.excursion_modifier)
    late = due(facts).filter(c("due_on") < facts.as_of)
    return pl.concat(
        [
            reasoned(unsure, many),
            of_hazards(with_phrase(unsaid, facts), ""),
            reasoned(late, pl.format("check was due on {} ({})", day_words("due_on"), "because")),
            of_hazards(with_phrase(worse, facts), "its climate has been worse since"),
            reasoned(facts.targets, outside_words()),
            _sizes(facts),
            _unsupported(facts),
            _harm_without_extent(facts),
            _without_cause(facts),
            moved(facts),
            accidents(facts),
            disagreements(facts),
        ]
    )


def _sizes(facts: Facts) -> pl.LazyFrame:
    """A size nobody recorded, within whose range the loss could reach the limit."""
    widest = facts.rates.area_range.assumed
    some = facts.objects.filter("size_assumed", c("annual_loss") * widest >= facts.rates.lines.treat_from)
    return reasoned(some, pl.lit("its size is not recorded: measure it first"), "size")


def _unsupported(facts: Facts) -> pl.LazyFrame:
    """A join that is letting go of which nobody said whether it is supported."""
    done = supported(facts)
    named = facts.where(c("bears") & c("lets_go")).join(
        done.filter(c("hazard_id").is_not_null()), on=["object_id", "hazard_id"], how="anti"
    )
    asked = named.join(done.filter(c("hazard_id").is_null()), on="object_id", how="anti")
    return of_hazards(with_phrase(asked, facts), "is it supported?", "supported")


def _harm_without_extent(facts: Facts) -> pl.LazyFrame:
    """A repair said to do harm of which nobody wrote where: it counts as letting go, and is asked."""
    harm = vocabulary("stability").terms_where("does_harm")
    unlocated = facts.hazards.filter(c("recorded_state").is_in(harm), c("state") != c("recorded_state"))
    return of_hazards(with_phrase(unlocated, facts), "it is said to do harm, and nobody wrote where")


def _without_cause(facts: Facts) -> pl.LazyFrame:
    """A grade that calls for a cause, and nothing on record that is one."""
    bad = vocabulary("grade").terms_where("needs_cause")
    rows = facts.objects.filter(c("grade").is_in(bad), c("hazards") == 0)
    labels = vocabulary("grade").labels()
    words = c("grade").replace_strict(labels, default=c("grade")).str.to_lowercase()
    return reasoned(rows, pl.format("graded {}, and no cause is on record", words))


def monitor(facts: Facts) -> pl.LazyFrame:
    """Quiet with a reason to return, and a day."""
    dated = due(facts)
    again = pl.format("{}; check again by {}", "return_for", day_words("due_on"))
    faults = place_faults(facts, harmful=False).join(dated, on="object_id")
    by = pl.format("{}; check again by {}", "reason", day_words("due_on"))
    return pl.concat(
        [
            reasoned(dated.filter(c("return_for").is_not_null()), again),
            reasoned(faults, by, location_id="location_id", fault="fault"),
            reasoned(watched(facts), _decision_words()),
        ]
    )


def everything_else(facts: Facts) -> pl.LazyFrame:
    """Checked within its interval, nothing active, nothing failing, target met; or not here at all."""
    status = vocabulary("object_status").labels()
    away = c("status").replace_strict(status, default=c("status"))
    here = pl.format(
        "checked {}, nothing moving, nothing failing; next check by {}",
        day_words("last_checked_on"),
        day_words("due_on"),
    )
    words = pl.when("away").then(away).otherwise(here)
    return reasoned(facts.objects.join(due(facts), on="object_id", how="left"), words)


def _answers(rule: str) -> tuple[str, ...]:
    """Properties of the actions that answer the class this rule decides."""
    return next((its.answered_by for its in terms("attention", Attention).values() if its.rule == rule), ())


def _above(facts: Facts) -> pl.LazyFrame:
    return facts.objects.filter(c("annual_loss") >= facts.rates.lines.treat_from)


def _sure(facts: Facts) -> pl.Expr:
    half = c("assessed_share") * 2 >= 1
    return (c("unsure_times") < facts.rates.lines.unsure_from_times) & half
