"""Rules of attention that can wait for a plan, a look or a day. Each gives the objects it holds for, with reasons."""

import polars as pl

from collection.risk.decided import in_force
from collection.risk.facts import Facts, thing
from collection.risk.intervals import due
from collection.risk.rules_now import outside_words, place_faults
from collection.risk.since import accidents, disagreements, moved
from schemas.vocabularies import vocabulary

c = pl.col


def left_on_record(facts: Facts) -> pl.LazyFrame:
    """A decision to leave is in force, with its reason and the day to think again."""
    words = pl.format("{} on {}: {}; think again on {}", "choice_words", "decided_on", "reason", "review_on")
    return in_force(facts).select("object_id", reason=words)


def above_the_line_and_sure(facts: Facts) -> pl.LazyFrame:
    """Magnitude at or above the museum's line, and sure."""
    sure = c("width") < facts.rates.lines.width_line
    return _above(facts).filter(sure).select("object_id", reason=_magnitude(facts))


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
                reason=pl.format("{}, and unsure: the figures span {} decades", _magnitude(facts), c("width").round(1)),
            ),
            open_question.select("object_id", reason=pl.format("{}: a kind that can move fast", thing())),
            late.select("object_id", reason=pl.format("look was due on {} ({})", "due_on", "because")),
            worse.select("object_id", reason=pl.format("{}: its climate has been worse since", thing())),
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
    faults = place_faults(facts, harmful=False).join(dated, on="object_id")
    return pl.concat(
        [
            reason.select("object_id", reason=pl.format("{}; look again by {}", "return_for", "due_on")),
            faults.select("object_id", reason=pl.format("{}; look again by {}", "reason", "due_on")),
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
    return facts.objects.filter(c("magnitude") >= facts.rates.lines.magnitude_line)


def _magnitude(facts: Facts) -> pl.Expr:
    line = facts.rates.lines.magnitude_line
    percent = (c("annual_loss") * facts.rates.scale.percent).round_sig_figs(2)
    return pl.format(
        "about {} % of its value a year if left (magnitude {}, line {})", percent, c("magnitude").round(1), line
    )
