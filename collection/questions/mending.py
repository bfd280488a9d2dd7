"""A place as something to mend: its open faults, what is due there, and what mending it would prevent."""

from datetime import date

import polars as pl

from collection.frames import returns
from collection.planning.hazards import plan_hazards
from collection.planning.options import plan_place_options, protected
from collection.questions.places import below
from collection.questions.triage import Triage
from collection.questions.where_lost import by_cause
from collection.questions.words import count, day_in_words, percent
from collection.risk.placed import within
from collection.risk.reach import with_log_kept
from schemas.vocabularies import vocabulary

MENDING = pl.Schema(
    {"option_id": pl.String(), "location_id": pl.String(), "place": pl.String(), "what": pl.String()}
    | {
        "objects": pl.UInt32(),
        "prevented": pl.Float64(),
        "of_loss": pl.Float64(),
        "hours": pl.Float64(),
        "money": pl.Float64(),
    }
)
FAULTS_OPEN = pl.Schema(
    {"location_id": pl.String(), "place": pl.String(), "fault": pl.String(), "words": pl.String()}
    | {"severity": pl.String(), "seen_on": pl.Date(), "objects": pl.UInt32(), "note": pl.String()}
)
UPKEEP = pl.Schema(
    {
        "location_id": pl.String(),
        "place": pl.String(),
        "what": pl.String(),
        "renewed_on": pl.Date(),
        "due_on": pl.Date(),
    }
    | {"state": pl.String()}
)
RENEWED = ("sorbent", "filter")
DECIMALS = 9  # of a share of the collection's value
DUE, LATER, UNKNOWN = "due", "not yet due", "not known how long it lasts"
c = pl.col


@returns(MENDING)
def mending(triage: Triage, place: str = "") -> pl.DataFrame:
    """Open proposals for the place, or what lies in it or around it, by what they prevent; schema MENDING.

    prevented [share of the collection's value a year]: the expected loss on mean rates, less that with the effect of
    the proposal on the groups of climate and handling it names. of_loss: share of what is expected to be
    lost there. objects: those that would be safer.
    """
    options = plan_place_options(triage.collection).filter("open")
    prevented = _prevented(triage)
    rows = options.select("option_id", "location_id").join(prevented, on="option_id", how="inner")
    written = triage.collection["option"].select("option_id", "steps", "hours_likely", "materials_cost")
    labels = vocabulary("treatment_step").labels()
    what = (
        c("steps")
        .list.eval(pl.element().replace_strict(labels, default=pl.element()))
        .list.join(", ")
        .str.to_lowercase()
    )
    named = rows.join(written, on="option_id").join(_names(triage), on="location_id", how="left")
    shown = named.with_columns(what=what, hours=c("hours_likely"), money=c("materials_cost"))
    if place:
        here = below(triage.collection["location"], place)
        shown = shown.filter(c("location_id").is_in(here.implode()))
    return shown.select(c(n).cast(t) for n, t in MENDING.items()).sort(
        "prevented", "option_id", descending=[True, False]
    )


def _prevented(triage: Triage) -> pl.DataFrame:
    """option_id, objects, prevented: of each proposal for a place, each alone."""
    groups = plan_hazards(triage).select("object_id", "hazard_id", "part", "climate", "handling")
    every = protected(triage).join(triage.risk.hazards, on="object_id")
    mine = every.join(groups, on=["object_id", "hazard_id", "part"], how="left")
    effects = triage.collection["location_effect"].select("option_id", "hazard_group", "rate_factor")
    for group in ("climate", "handling"):
        its = effects.select("option_id", c("hazard_group").alias(group), c("rate_factor").alias(f"{group}_factor"))
        mine = mine.join(its, on=["option_id", group], how="left").with_columns(c(f"{group}_factor").fill_null(1.0))
    moved = c("handling_rate") * triage.rates.mean_of_range
    after = (c("mean_loss_rate") - moved) * c("climate_factor") + moved * c("handling_factor")
    rated = mine.with_columns(rate_after=after)
    less = [_less(its).with_columns(option_id=pl.lit(name)) for (name,), its in rated.group_by("option_id")]
    worth = triage.objects.select("object_id", "value_share")
    lost = pl.concat([pl.DataFrame(schema=LESS), *less]).join(worth, on="object_id")
    prevented, whole = ((c(n) * c("value_share")).sum() for n in ("saved", "before"))
    of_loss = pl.when(whole > 0).then(prevented / whole)
    return lost.group_by("option_id").agg(
        objects=(c("saved") > 0).sum(), prevented=prevented.round(DECIMALS), of_loss=of_loss
    )


LESS = pl.Schema({"object_id": pl.String(), "saved": pl.Float64(), "before": pl.Float64(), "option_id": pl.String()})


def _less(rows: pl.DataFrame) -> pl.DataFrame:
    """object_id, saved, before: expected loss of each object, and by how much it falls [share of its value a year]."""
    lazy = rows.drop("option_id").lazy()
    logs = with_log_kept(lazy, "rate_after", "log_after").collect(engine="in-memory")
    parts = logs.group_by("object_id", "part").agg(
        c("part_share").max(), before=c("mean_log_kept").sum(), after=c("log_after").sum()
    )
    less, before = c("part_share") * (c("after").exp() - c("before").exp()), c("part_share") * (1 - c("before").exp())
    return parts.group_by("object_id").agg(saved=less.sum(), before=before.sum())


def mending_sentence(rows: pl.DataFrame) -> str:
    """*Mend this: 42 objects would be safer; it prevents about 0.06 % of the collection's value a year ...*"""
    if rows.is_empty():
        return "No proposal to mend this place is open."
    best = rows.row(0, named=True)
    safer = count(best["objects"], "object")
    which = f"{best['what']} in {best['place']} ({best['option_id']})"
    if not best["prevented"]:
        return f"Proposed: {which}; on what is on record it would prevent next to nothing."
    worth = (
        f"{percent(best['prevented'])} of the collection's value a year, {percent(best['of_loss'])} of the loss there"
    )
    return f"Mend this: {which}: {safer} would be safer; it prevents {worth}."


def fed_by_place(triage: Triage, place: str) -> float:
    """Share of the collection's value a year that a climate worse than at the last check takes there, on mean rates."""
    here = below(triage.collection["location"], place)
    mine = triage.objects.filter(c("location_id").is_in(here.implode())).select("object_id")
    causes = by_cause(triage.risk.hazards, triage.risk.objects)
    return float(causes.join(mine, on="object_id", how="semi")["climate"].sum())


@returns(FAULTS_OPEN)
def faults_open(triage: Triage, place: str = "") -> pl.DataFrame:
    """Faults of the place and of what lies in it that nobody has mended, the worst first; schema FAULTS_OPEN."""
    rows = triage.collection["place_check"].filter(c("mended_on").is_null())
    shown = _here(triage, rows, place).join(_names(triage), on="location_id", how="left")
    labels, levels = vocabulary("place_fault").labels(), list(vocabulary("severity").term)
    standing = triage.objects.filter(c("value_share") > 0).join(within(triage.collection["location"]), on="location_id")
    objects = standing.group_by(location_id="above").agg(objects=pl.len())
    rank = c("severity").replace_strict({k: n for n, k in enumerate(levels)}, default=-1, return_dtype=pl.Int64)
    worded = shown.join(objects, on="location_id", how="left").with_columns(
        c("objects").fill_null(0), words=c("fault").replace_strict(labels, default=c("fault")), rank=rank
    )
    ordered = worded.sort("rank", "seen_on", "location_id", descending=[True, False, False])
    return ordered.select(c(n).cast(t) for n, t in FAULTS_OPEN.items())


@returns(UPKEEP)
def upkeep(triage: Triage, place: str = "") -> pl.DataFrame:
    """Sorbent and filters of the place and what lies in it: when renewed, when due; due first; schema UPKEEP."""
    rows = _here(triage, triage.collection["location"], place)
    parts = [
        rows.filter(c(f"{what}_renewed_on").is_not_null() | c(f"{what}_lasts_months").is_not_null()).select(
            "location_id", pl.lit(what).alias("what"), renewed_on=f"{what}_renewed_on", months=f"{what}_lasts_months"
        )
        for what in RENEWED
    ]
    both = pl.concat(parts).join(_names(triage), on="location_id", how="left")
    due = c("renewed_on").dt.offset_by(pl.format("{}mo", c("months").round(0).cast(pl.Int64)))
    unknown = pl.when(c("due_on").is_null() & c("renewed_on").is_not_null()).then(pl.lit(UNKNOWN))
    state = unknown.when(c("due_on") > triage.as_of).then(pl.lit(LATER)).otherwise(pl.lit(DUE))
    dated = both.with_columns(due_on=due).with_columns(state=state)
    rank = c("state").replace_strict({DUE: 0, UNKNOWN: 1, LATER: 2}, return_dtype=pl.Int64)
    ordered = dated.sort(rank, "due_on", "location_id", "what", nulls_last=False)
    return ordered.select(c(n).cast(t) for n, t in UPKEEP.items())


def upkeep_sentence(rows: pl.DataFrame, today: date) -> str:
    """*2 of 5 are due; the longest since 3 March 2026.*"""
    if rows.is_empty():
        return "No day of a sorbent or a filter is on record here."
    due = rows.filter(c("state") == DUE)
    if due.is_empty():
        return "Nothing is due."
    longest = due["due_on"].drop_nulls().min()
    since = f"; the longest since {day_in_words(longest)}" if isinstance(longest, date) and longest < today else ""
    return f"{due.height:,} of {rows.height:,} {'is' if due.height == 1 else 'are'} due{since}."


def _here(triage: Triage, rows: pl.DataFrame, place: str) -> pl.DataFrame:
    if not place:
        return rows
    return rows.filter(c("location_id").is_in(below(triage.collection["location"], place).implode()))


def _names(triage: Triage) -> pl.DataFrame:
    return triage.collection["location"].select("location_id", place=pl.coalesce("name", "location_id"))
