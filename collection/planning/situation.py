"""A collection on a day as the situation that a plan is worked out from."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import polars as pl

from collection.attention.decisions import standing_decisions, watched
from collection.facts.facts import Facts
from collection.plan.parameters import Planning, planning
from collection.plan.situation import HOURS, MONEY, MUST, OBJECT, SETUP, Situation
from collection.planning.hazards import plan_added, plan_hazards, plan_journeys
from collection.planning.options import (
    plan_effects,
    plan_hours,
    plan_options,
    plan_place_effects,
    plan_place_options,
    protected,
)
from collection.questions.triage import Triage
from collection.snapshot import Collection
from schemas.vocabularies import vocabulary

c = pl.col
STATED = "stated"  # fund of money that was named with the question


@dataclass(frozen=True)
class Question:
    """What is asked for; None stands for the figure of plan.toml, of years for what the records say.

    money : year to amount, in place of the funds of that year. hours : (year, skill) to hours, in place of the record.
    """

    first_year: int | None = None
    years: int | None = None
    horizon: float | None = None
    money: Mapping[int, float] = field(default_factory=dict)
    hours: Mapping[tuple[int, str], float] = field(default_factory=dict)


def situation_of(triage: Triage, question: Question, figures: Planning | None = None) -> Situation:
    """The situation on the triage's day; the plan begins with the next calendar year unless another is asked for."""
    figures = figures or planning()
    known, first = triage.collection, question.first_year or triage.as_of.year + 1
    years = question.years or figures.years
    horizon = max(question.horizon or figures.horizon, float(years))
    span = range(first, first + years)
    return Situation(
        first, years, horizon,
        objects=_objects(triage, span), hazards=plan_hazards(triage), journeys=plan_journeys(triage),
        options=plan_options(known), place_options=plan_place_options(known), option_hours=plan_hours(known, figures),
        effects=plan_effects(known), added=plan_added(triage), place_effects=plan_place_effects(known),
        protected=protected(triage), setups=_setups(known), musts=_musts(known), money=_money(triage, question),
        hours=_hours(known, question), insured=triage.rates.value_basis == "insured_value",
        hour_price=triage.settings.hour_price or 0.0,
    )  # fmt: skip


def _objects(triage: Triage, span: Sequence[int]) -> pl.DataFrame:
    """Objects with their value, whether a decision leaves them, and the years they are out of reach."""
    facts = Facts(triage.collection, triage.risk, triage.rates)
    decided = pl.concat([standing_decisions(facts).select("object_id"), watched(facts).select("object_id")])
    left = decided.unique().collect(engine="in-memory")["object_id"]
    away = c("status").is_in(vocabulary("object_status").terms_where("away")).fill_null(value=False)
    worth = triage.risk.objects.select("object_id", "value_share")
    rows = triage.collection["object"].join(worth, on="object_id").with_columns(
        left=c("object_id").is_in(left.implode()),
        away=pl.when(away).then(pl.lit(list(span), pl.List(pl.Int32))).otherwise(pl.lit([], pl.List(pl.Int32))),
        insured_value=c("insured_value").cast(pl.Float64),
    )  # fmt: skip
    return rows.select(c(n).cast(t) for n, t in OBJECT.items())


def _setups(collection: Collection) -> pl.DataFrame:
    rows = collection["setup_group"].with_columns(c("hours").fill_null(0.0), c("money").cast(pl.Float64).fill_null(0.0))
    return rows.select(c(n).cast(t) for n, t in SETUP.items())


def _musts(collection: Collection) -> pl.DataFrame:
    return collection["must"].select(c(n).cast(t) for n, t in MUST.items())


def currency(triage: Triage) -> str | None:
    """The currency of the museum's money: that of its funds on record, else as set."""
    named = triage.collection["year_money"]["currency"].drop_nulls().unique().sort()
    return str(named[0]) if named.len() else triage.settings.currency


def _money(triage: Triage, question: Question) -> pl.DataFrame:
    """Funds by year; what was named with the question takes the place of the funds of its year."""
    rows = triage.collection["year_money"].filter(~c("year").is_in(list(question.money))).with_columns(
        c("carries_over").fill_null(value=False)
    )  # fmt: skip
    named = [(year, STATED, amount, currency(triage), None, False) for year, amount in question.money.items()]
    return pl.concat(
        [rows.select(c(n).cast(t) for n, t in MONEY.items()), pl.DataFrame(named, schema=MONEY, orient="row")]
    )


def _hours(collection: Collection, question: Question) -> pl.DataFrame:
    asked = pl.DataFrame(
        [(year, skill, hours) for (year, skill), hours in question.hours.items()], schema=HOURS, orient="row"
    )
    rows = collection["year_hours"].select(c(n).cast(t) for n, t in HOURS.items())
    return pl.concat([rows.join(asked, on=["year", "skill"], how="anti"), asked])
