"""What changed since a day: shelf by shelf, and of a year in measures that mean the same on both days."""

from collections.abc import Callable
from datetime import date

import polars as pl

from collection.frames import returns
from collection.learning.histories import histories
from collection.learning.new_damage import first_lines
from collection.questions.places import path_name
from collection.questions.triage import Triage
from collection.questions.words import count, day_in_words
from collection.risk.rate_rows import DAMAGE, REPAIR
from collection.trends.visits import pairs, visits
from schemas.vocabularies import vocabulary

CHANGES = ("new", "worse", "treated", "moved")
CHANGED = pl.Schema(
    {"location_id": pl.String, "place": pl.String} | dict.fromkeys(CHANGES, pl.Int64)
    | {"objects": pl.Int64, "which": pl.String}
)  # fmt: skip
WORDS = {"new": "new damage", "worse": "worse", "treated": "treated", "moved": "moved here"}
HAPPENED = pl.Schema({"object_id": pl.String, "change": pl.String})
YEARLY = pl.Schema(dict.fromkeys(("measure", "then", "now"), pl.String()))
c = pl.col
Measure = Callable[[Triage], str]


@returns(HAPPENED)
def happened(triage: Triage, since: date) -> pl.DataFrame:
    """Objects with what changed after the day, once each, schema HAPPENED.

    worse : a damage grew or began to move, or a comparable check gave a worse grade. new : damage seen for the first
    time that was not there at the check before. moved : to the place it is in now.
    """
    frames = {
        "new": _new(triage, since), "worse": _worse(triage, since), "treated": _treated(triage, since),
        "moved": _moved(triage, since),
    }  # fmt: skip
    named = [frame.select("object_id").unique().with_columns(change=pl.lit(name)) for name, frame in frames.items()]
    return pl.concat(named).select(*HAPPENED).sort("object_id", "change")


def _new(triage: Triage, since: date) -> pl.DataFrame:
    days = triage.risk.checks.filter(c("seen_on") > since).select("check_id", "object_id")
    return first_lines(triage.collection, triage.risk.checks).join(days, on="check_id")


def _worse(triage: Triage, since: date) -> pl.DataFrame:
    spans = histories(triage.collection, triage.risk.checks, triage.rates).filter(c("ends_on") > since)
    grown = spans.filter(c("loss_event").fill_null(value=False) | c("activation_event").fill_null(value=False))
    its = pairs(visits(triage.collection, triage.risk.checks)).filter(c("ends_on") > since, c("apart").is_null())
    graded = its.filter(c("end_grade") > c("grade"))
    return pl.concat([grown.select("object_id"), graded.select("object_id")])


def _treated(triage: Triage, since: date) -> pl.DataFrame:
    return triage.collection["treatment"].filter(pl.coalesce("finished_on", "started_on") > since)


def _moved(triage: Triage, since: date) -> pl.DataFrame:
    return triage.collection["move"].filter(c("moved_on") > since)


@returns(CHANGED)
def changed_since(triage: Triage, chosen: pl.DataFrame, since: date) -> pl.DataFrame:
    """Counts of objects by shelf and what changed, with their numbers, schema CHANGED; shelves in shelf order.

    chosen : rows of `Triage.objects`. An object stands once under each thing that changed.
    """
    mine = happened(triage, since).join(chosen.select("object_id", "location_id"), on="object_id")
    counted = mine.group_by("location_id").agg(
        *((c("change") == name).sum().cast(pl.Int64).alias(name) for name in CHANGES),
        objects=c("object_id").n_unique().cast(pl.Int64),
        which=c("object_id").unique(maintain_order=True).str.join(", "),
    )
    names = {place: name.strip() for place, name in path_name(triage.collection["location"]).items()}
    order = {place: number for number, place in enumerate(names)}
    named = counted.with_columns(
        place=c("location_id").replace_strict(names, default=c("location_id"), return_dtype=pl.String).fill_null(
            "no place recorded"
        ),
        order=c("location_id").replace_strict(order, default=len(order), return_dtype=pl.Int64),
    )  # fmt: skip
    return named.sort("order", "location_id").select(*CHANGED)


def sentence(triage: Triage, chosen: pl.DataFrame, since: date) -> str:
    """*Since 30 September 2025: new damage in 41 objects, 33 worse, 18 treated, 12 moved.*"""
    mine = happened(triage, since).join(chosen.select("object_id"), on="object_id", how="semi")
    counts = dict(mine["change"].value_counts().iter_rows())
    if not counts:
        return f"Nothing that was checked or noted changed since {day_in_words(since)}."
    each = [f"{WORDS[name]}: {count(counts[name], 'object')}" for name in CHANGES if counts.get(name)]
    unchecked = triage.objects.join(chosen.select("object_id"), on="object_id", how="semi").filter(
        c("last_checked_on").is_null() | (c("last_checked_on") <= since)
    )  # fmt: skip
    return f"Since {day_in_words(since)} {'; '.join(each)}. {count(unchecked.height, 'object')} not checked since then."


@returns(YEARLY)
def yearly(now: Triage, then: Triage | None) -> pl.DataFrame:
    """One row a measure, schema YEARLY, in words; `then` is empty where nothing was known a year before."""
    rows = [(name, None if then is None else of(then), of(now)) for name, of in MEASURES.items()]
    return pl.DataFrame(rows, schema=YEARLY, orient="row")


def _checked(triage: Triage) -> str:
    coverage = triage.coverage()
    return f"{coverage['checked']:,} of {coverage['objects']:,}"


def _urgent(triage: Triage) -> str:
    return f"{triage.objects.filter(c('attention').is_in(triage.now)).height:,}"


def _checked_in_year(triage: Triage) -> str:
    checks = triage.risk.checks.filter(_within_year("seen_on", triage.as_of))
    return f"{checks['object_id'].n_unique():,}"


def _treated_in_year(triage: Triage) -> str:
    return f"{triage.collection['treatment'].filter(_within_year('finished_on', triage.as_of)).height:,}"


def _spoilt(triage: Triage) -> str:
    """Old repairs that let go, no longer work or do harm, at their last check."""
    states = vocabulary("stability").terms_where("spoils")
    hazards = triage.risk.hazards.filter(c("source") == REPAIR, c("state").is_in(states))
    return f"{hazards['hazard_id'].n_unique():,}"


def _moving(triage: Triage) -> str:
    states = vocabulary("activity").terms_where("moving")
    hazards = triage.risk.hazards.filter(c("source") == DAMAGE, c("state").is_in(states))
    return f"{hazards['object_id'].n_unique():,}"


def _within_year(name: str, day: date) -> pl.Expr:
    """A day in the year that ends on `day`."""
    return (c(name) > pl.lit(day).dt.offset_by("-1y")) & (c(name) <= day)


MEASURES: dict[str, Measure] = {
    "objects ever checked": _checked,
    "objects checked in the year": _checked_in_year,
    "objects that need attention now": _urgent,
    "objects with damage that moves": _moving,
    "old repairs that let go or do harm": _spoilt,
    "treatments finished in the year": _treated_in_year,
}
