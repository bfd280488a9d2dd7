"""Options as a plan reads them: hours with what finished treatments taught, money, effects, what excludes what."""

import polars as pl

from collection.frames import returns
from collection.plan.effort import ESTIMATES, FINISHED, LEARNED_HOURS, learned_hours, planned_hours
from collection.plan.parameters import Planning
from collection.plan.situation import EFFECT, IDS, OPTION, OPTION_HOURS, PLACE_EFFECT, PLACE_OPTION, PROTECTED
from collection.questions.triage import Triage
from collection.risk.placed import places, within
from collection.snapshot import Collection
from schemas.vocabularies import vocabulary

BENCH = "bench_days"  # a skill whose unit is the day
c = pl.col


@returns(OPTION)
def plan_options(collection: Collection) -> pl.DataFrame:
    """Options for objects, schema OPTION. One without a benefit on record counts as preventing loss."""
    less_lost = vocabulary("benefit").terms_where("less_lost")
    rows = _with_standing(collection).filter(c("object_id").is_not_null()).with_columns(
        money=c("materials_cost").cast(pl.Float64).fill_null(0.0),
        loss_in_doing=c("loss_in_doing").fill_null(0.0),
        excludes=_excluded(),
        prevents_loss=c("benefit").is_in(less_lost).fill_null(value=True),
        given_worth=pl.lit(None, pl.Float64),
        **{name: c(name).cast(IDS).fill_null([]) for name in ("needs", "together_with")},
    )  # fmt: skip
    return rows.select(c(n).cast(t) for n, t in OPTION.items())


@returns(PLACE_OPTION)
def plan_place_options(collection: Collection) -> pl.DataFrame:
    """Options for places, schema PLACE_OPTION."""
    rows = _with_standing(collection).filter(c("location_id").is_not_null()).with_columns(
        money=c("materials_cost").cast(pl.Float64).fill_null(0.0),
        yearly_cost=c("yearly_cost").cast(pl.Float64).fill_null(0.0),
        together_with=c("together_with").cast(IDS).fill_null([]),
    )  # fmt: skip
    return rows.select(c(n).cast(t) for n, t in PLACE_OPTION.items())


@returns(OPTION_HOURS)
def plan_hours(collection: Collection, figures: Planning) -> pl.DataFrame:
    """Hours to plan each option with, by skill, schema OPTION_HOURS; no row where nobody estimated any."""
    options = collection["option"].with_columns(first_step=c("steps").list.first())
    estimates = options.select(c(n).cast(t) for n, t in ESTIMATES.items())
    planned = planned_hours(estimates, learned_of(collection, figures), figures)
    hours = planned.drop_nulls("hours").join(options.select("option_id", "skill"), on="option_id")
    days = options.drop_nulls(BENCH).select("option_id", skill=pl.lit(BENCH), hours=c(BENCH))
    both = pl.concat([hours.drop_nulls("skill").select("option_id", "skill", "hours"), days])
    return both.select(c(n).cast(t) for n, t in OPTION_HOURS.items())


@returns(LEARNED_HOURS)
def learned_of(collection: Collection, figures: Planning) -> pl.DataFrame:
    """What the museum's finished treatments taught of hours, by first step."""
    estimates = collection["option"].select("option_id", "hours_likely", "tests_hours")
    done = collection["treatment"].filter(c("finished_on").is_not_null()).join(estimates, on="option_id")
    rows = done.with_columns(
        first_step=c("steps").list.first(), planned_hours=c("hours_likely") + c("tests_hours").fill_null(0.0)
    )
    return learned_hours(rows.drop_nulls("first_step").select(c(n).cast(t) for n, t in FINISHED.items()), figures)


@returns(EFFECT)
def plan_effects(collection: Collection) -> pl.DataFrame:
    """What options do to hazards, schema EFFECT."""
    return collection["option_effect"].select(c(n).cast(t) for n, t in EFFECT.items())


@returns(PLACE_EFFECT)
def plan_place_effects(collection: Collection) -> pl.DataFrame:
    """What options for places do to groups of hazards, schema PLACE_EFFECT."""
    return collection["location_effect"].select(c(n).cast(t) for n, t in PLACE_EFFECT.items())


@returns(PROTECTED)
def protected(triage: Triage) -> pl.DataFrame:
    """Objects that stand in or below the place of each option, schema PROTECTED."""
    locations = triage.collection["location"]
    below = within(locations).rename({"above": "at"})
    options = triage.collection["option"].drop_nulls("location_id").select("option_id", at="location_id")
    standing = places(triage.collection).join(below, on="location_id").join(options, on="at")
    return standing.select("option_id", "object_id").unique().sort("option_id", "object_id")


def _with_standing(collection: Collection) -> pl.DataFrame:
    """Options with whether they may still be planned and whether they were carried out."""
    waiting = vocabulary("option_status").terms_where("backlog")
    finished = collection["treatment"].filter(c("finished_on").is_not_null())["option_id"].drop_nulls()
    done = c("option_id").is_in(finished.implode())
    is_open = (c("status").is_in(waiting) | c("status").is_null()) & ~done
    return collection["option"].with_columns(open=is_open, done=done)


def _excluded() -> pl.Expr:
    """What an option excludes; of an older record the one it names as its alternative."""
    older = pl.concat_list(c("alternative_to").cast(pl.String))
    return pl.when(c("excludes").is_not_null()).then(c("excludes").cast(IDS)).when(
        c("alternative_to").is_not_null()
    ).then(older).otherwise(pl.lit([], IDS))  # fmt: skip
